CREATE TABLE "content" (
	"cellar_id" text NOT NULL,
	"vessel_id" text NOT NULL,
	"lot_id" text NOT NULL,
	"volume_ml" bigint NOT NULL,
	"since_at" timestamptz(3) NOT NULL,
	"sources_ml" jsonb NOT NULL,
	"added" jsonb NOT NULL,
	CONSTRAINT "content_cellar_id_vessel_id_pk" PRIMARY KEY("cellar_id","vessel_id"),
	CONSTRAINT "content_volume" CHECK ("content"."volume_ml" > 0)
);
--> statement-breakpoint
CREATE TABLE "ledger_check" (
	"cellar_id" text NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"ok" boolean NOT NULL,
	"movements" bigint NOT NULL,
	"took_ms" double precision NOT NULL,
	"faults" jsonb NOT NULL,
	CONSTRAINT "ledger_check_cellar_id_at_pk" PRIMARY KEY("cellar_id","at")
);
--> statement-breakpoint
CREATE TABLE "level" (
	"cellar_id" text NOT NULL,
	"vessel_id" text NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"entry" bigint NOT NULL,
	"movement_id" text NOT NULL,
	"before_ml" bigint NOT NULL,
	"after_ml" bigint NOT NULL,
	"before_lot_id" text,
	"after_lot_id" text,
	"since_at" timestamptz(3) NOT NULL,
	"since_entry" bigint NOT NULL,
	CONSTRAINT "level_cellar_id_vessel_id_at_entry_pk" PRIMARY KEY("cellar_id","vessel_id","at","entry"),
	CONSTRAINT "level_whole" CHECK ("level"."before_ml" >= 0 and "level"."after_ml" >= 0)
);
--> statement-breakpoint
CREATE TABLE "movement" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"entry" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"written_at" timestamptz(3) NOT NULL,
	"from_kind" text NOT NULL,
	"from_vessel_id" text,
	"from_lot_id" text,
	"to_kind" text NOT NULL,
	"to_vessel_id" text,
	"to_lot_id" text,
	"volume_ml" bigint NOT NULL,
	"planned_ml" bigint,
	"measured_before_ml" bigint,
	"measured_after_ml" bigint,
	"cause" text NOT NULL,
	"people" jsonb NOT NULL,
	"receipt_id" text,
	"task_key" text,
	"op_id" text NOT NULL,
	"reverses_id" text,
	"reason" text,
	CONSTRAINT "movement_cellar_id_id_pk" PRIMARY KEY("cellar_id","id"),
	CONSTRAINT "movement_volume" CHECK ("movement"."volume_ml" > 0),
	CONSTRAINT "movement_from" CHECK (("movement"."from_kind" = 'vessel') = ("movement"."from_vessel_id" is not null) and ("movement"."from_kind" = 'vessel') = ("movement"."from_lot_id" is not null)),
	CONSTRAINT "movement_to" CHECK (("movement"."to_kind" = 'vessel') = ("movement"."to_vessel_id" is not null) and ("movement"."to_kind" = 'vessel') = ("movement"."to_lot_id" is not null)),
	CONSTRAINT "movement_vessel" CHECK ("movement"."from_kind" = 'vessel' or "movement"."to_kind" = 'vessel'),
	CONSTRAINT "movement_reason" CHECK ("movement"."reverses_id" is null or "movement"."reason" is not null)
);
--> statement-breakpoint
CREATE TABLE "quarantine" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"lot_id" text NOT NULL,
	"since" timestamptz(3) NOT NULL,
	"person_id" text,
	"reason" text NOT NULL,
	"lifted_at" timestamptz(3),
	"lifted_by" text,
	"lift_reason" text,
	CONSTRAINT "quarantine_cellar_id_id_pk" PRIMARY KEY("cellar_id","id")
);
--> statement-breakpoint
CREATE TABLE "receipt" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"kind" text NOT NULL,
	"lot_id" text NOT NULL,
	"variety" text NOT NULL,
	"vintage" text NOT NULL,
	"block" text NOT NULL,
	"origin" text NOT NULL,
	CONSTRAINT "receipt_cellar_id_id_pk" PRIMARY KEY("cellar_id","id")
);
--> statement-breakpoint
CREATE TABLE "stock_count" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"written_at" timestamptz(3) NOT NULL,
	"person_id" text,
	"lines" jsonb NOT NULL,
	CONSTRAINT "stock_count_cellar_id_id_pk" PRIMARY KEY("cellar_id","id")
);
--> statement-breakpoint
ALTER TABLE "addition" ADD COLUMN "reverses_id" text;--> statement-breakpoint
ALTER TABLE "addition" ADD COLUMN "reason" text;--> statement-breakpoint
ALTER TABLE "content" ADD CONSTRAINT "content_vessel_fk" FOREIGN KEY ("cellar_id","vessel_id") REFERENCES "public"."vessel"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "ledger_check" ADD CONSTRAINT "ledger_check_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "movement" ADD CONSTRAINT "movement_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "movement" ADD CONSTRAINT "movement_from_vessel_fk" FOREIGN KEY ("cellar_id","from_vessel_id") REFERENCES "public"."vessel"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "movement" ADD CONSTRAINT "movement_to_vessel_fk" FOREIGN KEY ("cellar_id","to_vessel_id") REFERENCES "public"."vessel"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "movement" ADD CONSTRAINT "movement_from_fk" FOREIGN KEY ("cellar_id","from_lot_id") REFERENCES "public"."lot"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "movement" ADD CONSTRAINT "movement_to_fk" FOREIGN KEY ("cellar_id","to_lot_id") REFERENCES "public"."lot"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "movement" ADD CONSTRAINT "movement_receipt_fk" FOREIGN KEY ("cellar_id","receipt_id") REFERENCES "public"."receipt"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "movement" ADD CONSTRAINT "movement_reverses_fk" FOREIGN KEY ("cellar_id","reverses_id") REFERENCES "public"."movement"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "quarantine" ADD CONSTRAINT "quarantine_lot_fk" FOREIGN KEY ("cellar_id","lot_id") REFERENCES "public"."lot"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "receipt" ADD CONSTRAINT "receipt_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "receipt" ADD CONSTRAINT "receipt_lot_fk" FOREIGN KEY ("cellar_id","lot_id") REFERENCES "public"."lot"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "stock_count" ADD CONSTRAINT "stock_count_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "content_lot" ON "content" USING btree ("cellar_id","lot_id");--> statement-breakpoint
CREATE UNIQUE INDEX "movement_entry" ON "movement" USING btree ("cellar_id","entry");--> statement-breakpoint
CREATE INDEX "movement_at" ON "movement" USING btree ("cellar_id","at","entry");--> statement-breakpoint
CREATE INDEX "movement_from_lot" ON "movement" USING btree ("cellar_id","from_lot_id","at");--> statement-breakpoint
CREATE INDEX "movement_to_lot" ON "movement" USING btree ("cellar_id","to_lot_id","at");--> statement-breakpoint
CREATE INDEX "movement_task" ON "movement" USING btree ("cellar_id","task_key") WHERE "movement"."task_key" is not null;--> statement-breakpoint
CREATE INDEX "movement_op" ON "movement" USING btree ("cellar_id","op_id");--> statement-breakpoint
CREATE UNIQUE INDEX "movement_reverses" ON "movement" USING btree ("cellar_id","reverses_id") WHERE "movement"."reverses_id" is not null;--> statement-breakpoint
CREATE INDEX "quarantine_lot" ON "quarantine" USING btree ("cellar_id","lot_id");--> statement-breakpoint
CREATE INDEX "receipt_lot" ON "receipt" USING btree ("cellar_id","lot_id");--> statement-breakpoint
CREATE INDEX "stock_count_at" ON "stock_count" USING btree ("cellar_id","at");--> statement-breakpoint
ALTER TABLE "addition" ADD CONSTRAINT "addition_reverses_fk" FOREIGN KEY ("cellar_id","reverses_id") REFERENCES "public"."addition"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE UNIQUE INDEX "addition_reverses" ON "addition" USING btree ("cellar_id","reverses_id") WHERE "addition"."reverses_id" is not null;--> statement-breakpoint
CREATE INDEX "addition_at" ON "addition" USING btree ("cellar_id","added_at");--> statement-breakpoint
ALTER TABLE "addition" ADD CONSTRAINT "addition_reason" CHECK ("addition"."reverses_id" is null or "addition"."reason" is not null);--> statement-breakpoint
CREATE FUNCTION "ledger_is_append_only"() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'the ledger is append-only: take an entry back by another one' USING ERRCODE = '23514'; END $$;--> statement-breakpoint
CREATE TRIGGER "movement_append_only" BEFORE UPDATE OR DELETE ON "movement" FOR EACH ROW EXECUTE FUNCTION "ledger_is_append_only"();
