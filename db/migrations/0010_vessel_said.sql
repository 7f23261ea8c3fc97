ALTER TABLE "vessel" ADD COLUMN "said_state" text;--> statement-breakpoint
ALTER TABLE "vessel" ADD COLUMN "said_fills" integer;--> statement-breakpoint
ALTER TABLE "vessel" ADD COLUMN "said_at" timestamptz(3);--> statement-breakpoint
UPDATE "vessel" SET "said_state" = "state", "said_fills" = "fills", "said_at" = now();--> statement-breakpoint
ALTER TABLE "vessel" ALTER COLUMN "said_state" SET NOT NULL;--> statement-breakpoint
ALTER TABLE "lot" ADD COLUMN "unplanned" boolean DEFAULT false NOT NULL;--> statement-breakpoint
CREATE INDEX "level_turn" ON "level" USING btree ("cellar_id","vessel_id","at","entry") WHERE "level"."after_ml" >= "level"."before_ml" or "level"."after_ml" = 0;--> statement-breakpoint
CREATE INDEX "task_fact_done" ON "task_fact" USING btree ("cellar_id","at") WHERE "task_fact"."kind" = 'done';