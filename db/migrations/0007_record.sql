CREATE TABLE "operation" (
	"cellar_id" text NOT NULL,
	"op_id" text NOT NULL,
	"digest" text NOT NULL,
	"person_id" text NOT NULL,
	"device_id" text NOT NULL,
	"kind" text NOT NULL,
	"task_key" text,
	"occurred_at" timestamptz(3) NOT NULL,
	"clock_offset_ms" integer NOT NULL,
	"written_at" timestamptz(3) NOT NULL,
	"state" text NOT NULL,
	"answer" jsonb NOT NULL,
	CONSTRAINT "operation_cellar_id_op_id_pk" PRIMARY KEY("cellar_id","op_id"),
	CONSTRAINT "operation_state_known" CHECK ("operation"."state" in ('stored', 'check', 'refused'))
);
--> statement-breakpoint
CREATE TABLE "record_entry" (
	"cellar_id" text NOT NULL,
	"entry" bigint NOT NULL,
	"kind" text NOT NULL,
	"subject_id" text NOT NULL,
	"task_key" text,
	"lot_id" text,
	"vessel_id" text,
	"person_id" text,
	"op_id" text,
	"at" timestamptz(3) NOT NULL,
	"written_at" timestamptz(3) NOT NULL,
	"corrects_id" text,
	"payload" text NOT NULL,
	"digest" text NOT NULL,
	"previous" text NOT NULL,
	"hash" text NOT NULL,
	CONSTRAINT "record_entry_cellar_id_entry_pk" PRIMARY KEY("cellar_id","entry"),
	CONSTRAINT "record_entry_entry" CHECK ("record_entry"."entry" >= 1)
);
--> statement-breakpoint
ALTER TABLE "operation" ADD CONSTRAINT "operation_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "operation" ADD CONSTRAINT "operation_person_fk" FOREIGN KEY ("cellar_id","person_id") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "record_entry" ADD CONSTRAINT "record_entry_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "operation_device" ON "operation" USING btree ("cellar_id","device_id");--> statement-breakpoint
CREATE INDEX "operation_state" ON "operation" USING btree ("cellar_id","state","written_at");--> statement-breakpoint
CREATE INDEX "record_entry_at" ON "record_entry" USING btree ("cellar_id","at");--> statement-breakpoint
CREATE INDEX "record_entry_lot" ON "record_entry" USING btree ("cellar_id","lot_id","at");--> statement-breakpoint
CREATE INDEX "record_entry_vessel" ON "record_entry" USING btree ("cellar_id","vessel_id","at");--> statement-breakpoint
CREATE INDEX "record_entry_subject" ON "record_entry" USING btree ("cellar_id","subject_id");--> statement-breakpoint
CREATE FUNCTION "record_entry_stands"() RETURNS trigger AS $$ BEGIN RAISE EXCEPTION 'entries of the record are never changed or removed' USING ERRCODE = 'restrict_violation', CONSTRAINT = 'record_entry_stands'; END; $$ LANGUAGE plpgsql;
--> statement-breakpoint
CREATE TRIGGER "record_entry_stands" BEFORE UPDATE OR DELETE ON "record_entry" FOR EACH ROW EXECUTE FUNCTION "record_entry_stands"();
--> statement-breakpoint
CREATE TRIGGER "record_entry_not_emptied" BEFORE TRUNCATE ON "record_entry" FOR EACH STATEMENT EXECUTE FUNCTION "record_entry_stands"();
