INSERT INTO "receipt" ("cellar_id", "id", "kind", "lot_id", "variety", "vintage", "block", "origin")
SELECT l."cellar_id", l."id", 'fruit', l."id", l."variety", l."vintage"::text, l."block", l."place"
FROM "lot" l
WHERE EXISTS (
  SELECT 1 FROM "transfer" t
  WHERE t."cellar_id" = l."cellar_id" AND t."lot_id" = l."id" AND t."from_vessel_id" IS NULL AND t."to_vessel_id" IS NOT NULL
    AND t."volume_l" > 0 AND split_part(coalesce(t."task_key", ''), '/', 2) IN ('press', 'press-skins', 'drain', 'cut-fractions')
)
ON CONFLICT DO NOTHING;--> statement-breakpoint
INSERT INTO "movement" ("cellar_id", "id", "entry", "at", "written_at", "from_kind", "from_vessel_id", "from_lot_id", "to_kind", "to_vessel_id", "to_lot_id", "volume_ml", "cause", "people", "receipt_id", "task_key", "op_id")
SELECT m."cellar_id", m."id",
  coalesce((SELECT max(o."entry") FROM "movement" o WHERE o."cellar_id" = m."cellar_id"), 0)
    + row_number() OVER (PARTITION BY m."cellar_id" ORDER BY m."moved_at", m."id", m."part"),
  m."moved_at", m."written_at", m."from_kind", m."from_vessel_id", m."from_lot_id", m."to_kind", m."to_vessel_id", m."to_lot_id",
  m."volume_ml", m."cause", m."people", m."receipt_id", m."task_key", m."op_id"
FROM (
  SELECT t."cellar_id", t."id", 1 AS "part", t."moved_at", t."written_at",
    CASE WHEN t."from_vessel_id" IS NULL THEN 'fruit' ELSE 'vessel' END AS "from_kind", t."from_vessel_id",
    CASE WHEN t."from_vessel_id" IS NULL THEN NULL ELSE t."lot_id" END AS "from_lot_id",
    'vessel' AS "to_kind", t."to_vessel_id", t."lot_id" AS "to_lot_id", round(t."volume_l" * 1000)::bigint AS "volume_ml",
    CASE WHEN t."from_vessel_id" IS NULL THEN 'press' ELSE 'rack' END AS "cause",
    CASE WHEN t."person_id" IS NULL THEN '[]'::jsonb ELSE jsonb_build_array(t."person_id") END AS "people",
    CASE WHEN t."from_vessel_id" IS NULL THEN t."lot_id" END AS "receipt_id", t."task_key", 'told:' || t."id" AS "op_id"
  FROM "transfer" t
  WHERE t."to_vessel_id" IS NOT NULL AND t."volume_l" >= 0.0005 AND t."from_vessel_id" IS DISTINCT FROM t."to_vessel_id"
    AND (t."from_vessel_id" IS NOT NULL OR split_part(coalesce(t."task_key", ''), '/', 2) IN ('press', 'press-skins', 'drain', 'cut-fractions'))
  UNION ALL
  SELECT t."cellar_id", t."id" || '/loss', 2, t."moved_at", t."written_at", 'vessel', t."from_vessel_id", t."lot_id",
    'lees', NULL, NULL, round(t."loss_l" * 1000)::bigint, 'lees',
    CASE WHEN t."person_id" IS NULL THEN '[]'::jsonb ELSE jsonb_build_array(t."person_id") END, NULL, t."task_key", 'told:' || t."id"
  FROM "transfer" t
  WHERE t."from_vessel_id" IS NOT NULL AND t."to_vessel_id" IS NOT NULL AND t."loss_l" >= 0.0005
    AND t."from_vessel_id" IS DISTINCT FROM t."to_vessel_id"
) m;--> statement-breakpoint
INSERT INTO "reading" ("cellar_id", "id", "lot_id", "vessel_id", "kind", "value", "taken_at", "written_at", "person_id", "task_key", "note")
SELECT t."cellar_id", 'moved/' || t."id", t."lot_id", t."to_vessel_id", 'volume', t."volume_l", t."moved_at", t."written_at", t."person_id", t."task_key", 'Litres told of a move whose vessels were not'
FROM "transfer" t
WHERE t."volume_l" > 0 AND NOT EXISTS (
  SELECT 1 FROM "movement" m WHERE m."cellar_id" = t."cellar_id" AND m."id" = t."id"
)
ON CONFLICT DO NOTHING;--> statement-breakpoint
INSERT INTO "movement" ("cellar_id", "id", "entry", "at", "written_at", "from_kind", "from_vessel_id", "from_lot_id", "to_kind", "to_vessel_id", "to_lot_id", "volume_ml", "cause", "people", "task_key", "op_id", "reverses_id", "reason")
SELECT m."cellar_id", 'undo/' || m."id",
  (SELECT max(o."entry") FROM "movement" o WHERE o."cellar_id" = m."cellar_id")
    + row_number() OVER (PARTITION BY m."cellar_id" ORDER BY m."entry" DESC),
  m."at", u."written_at", m."to_kind", m."to_vessel_id", m."to_lot_id", m."from_kind", m."from_vessel_id", m."from_lot_id",
  m."volume_ml", m."cause", m."people", m."task_key", 'undo:' || u."id", m."id", coalesce(u."reason", 'the tick was taken back')
FROM "movement" m
JOIN "task_fact" d ON d."cellar_id" = m."cellar_id" AND d."task_key" = m."task_key" AND d."kind" = 'done' AND d."at" = m."at"
JOIN "task_fact" u ON u."cellar_id" = d."cellar_id" AND u."undoes_id" = d."id"
WHERE m."reverses_id" IS NULL AND m."op_id" LIKE 'told:%' AND EXISTS (
  SELECT 1 FROM "transfer" t WHERE t."cellar_id" = m."cellar_id" AND (t."id" = m."id" OR t."id" || '/loss' = m."id")
) AND NOT EXISTS (
  SELECT 1 FROM "task_fact" a WHERE a."cellar_id" = d."cellar_id" AND a."task_key" = d."task_key" AND a."kind" = 'done' AND a."at" = d."at"
    AND NOT EXISTS (SELECT 1 FROM "task_fact" x WHERE x."cellar_id" = a."cellar_id" AND x."undoes_id" = a."id")
) AND NOT EXISTS (
  SELECT 1 FROM "task_fact" d2 JOIN "task_fact" u2 ON u2."cellar_id" = d2."cellar_id" AND u2."undoes_id" = d2."id"
  WHERE d2."cellar_id" = d."cellar_id" AND d2."task_key" = d."task_key" AND d2."kind" = 'done' AND d2."at" = d."at" AND u2."id" < u."id"
);--> statement-breakpoint
DROP TABLE "transfer" CASCADE;
