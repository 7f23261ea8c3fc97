CREATE TABLE "addition" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"lot_id" text NOT NULL,
	"vessel_id" text,
	"product" text NOT NULL,
	"amount" double precision NOT NULL,
	"unit" text NOT NULL,
	"batch_no" text,
	"treated_l" double precision NOT NULL,
	"added_at" timestamptz(3) NOT NULL,
	"written_at" timestamptz(3) NOT NULL,
	"person_id" text NOT NULL,
	"task_key" text,
	CONSTRAINT "addition_cellar_id_id_pk" PRIMARY KEY("cellar_id","id"),
	CONSTRAINT "addition_amount" CHECK ("addition"."amount" >= 0)
);
--> statement-breakpoint
CREATE TABLE "cellar" (
	"id" text PRIMARY KEY NOT NULL,
	"name" text NOT NULL,
	"hemisphere" text NOT NULL,
	"vintage" integer NOT NULL,
	"zone" text NOT NULL,
	"units" text NOT NULL,
	"sugar_unit" text NOT NULL,
	"language" text NOT NULL,
	"rates" jsonb NOT NULL,
	"holidays" jsonb NOT NULL,
	"demo" boolean DEFAULT false NOT NULL,
	"version" integer DEFAULT 1 NOT NULL,
	"created_at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
CREATE TABLE "choice_version" (
	"cellar_id" text NOT NULL,
	"lot_id" text NOT NULL,
	"version" integer NOT NULL,
	"choices" jsonb NOT NULL,
	"signed" jsonb NOT NULL,
	"person_id" text,
	"at" timestamptz(3) NOT NULL,
	CONSTRAINT "choice_version_cellar_id_lot_id_version_pk" PRIMARY KEY("cellar_id","lot_id","version")
);
--> statement-breakpoint
CREATE TABLE "credential" (
	"cellar_id" text NOT NULL,
	"person_id" text NOT NULL,
	"password_hash" text NOT NULL,
	"changed_at" timestamptz(3) NOT NULL,
	CONSTRAINT "credential_cellar_id_person_id_pk" PRIMARY KEY("cellar_id","person_id")
);
--> statement-breakpoint
CREATE TABLE "feed" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"token_hash" text NOT NULL,
	"kind" text NOT NULL,
	"subject" text NOT NULL,
	"name" text NOT NULL,
	"person_id" text NOT NULL,
	"language" text NOT NULL,
	"show_doses" boolean DEFAULT false NOT NULL,
	"alarm_min" jsonb NOT NULL,
	"version" integer DEFAULT 1 NOT NULL,
	"created_at" timestamptz(3) NOT NULL,
	"revoked_at" timestamptz(3),
	"last_fetch_at" timestamptz(3),
	"last_client" text,
	CONSTRAINT "feed_cellar_id_id_pk" PRIMARY KEY("cellar_id","id")
);
--> statement-breakpoint
CREATE TABLE "login_link" (
	"token_hash" text PRIMARY KEY NOT NULL,
	"cellar_id" text NOT NULL,
	"person_id" text,
	"created_at" timestamptz(3) NOT NULL,
	"expires_at" timestamptz(3) NOT NULL,
	"used_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "lot" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"code" text NOT NULL,
	"name" text NOT NULL,
	"variety" text NOT NULL,
	"block" text NOT NULL,
	"place" text NOT NULL,
	"vintage" integer NOT NULL,
	"pick_on" date NOT NULL,
	"fruit" jsonb NOT NULL,
	"choices_version" integer NOT NULL,
	"vessel_pins" jsonb NOT NULL,
	"parents" jsonb NOT NULL,
	"ended_at" timestamptz(3),
	"version" integer DEFAULT 1 NOT NULL,
	CONSTRAINT "lot_cellar_id_id_pk" PRIMARY KEY("cellar_id","id")
);
--> statement-breakpoint
CREATE TABLE "machine" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"code" text NOT NULL,
	"kind" text NOT NULL,
	"name" text NOT NULL,
	"capacity" double precision NOT NULL,
	"press" jsonb,
	"bookings" jsonb NOT NULL,
	"version" integer DEFAULT 1 NOT NULL,
	CONSTRAINT "machine_cellar_id_id_pk" PRIMARY KEY("cellar_id","id")
);
--> statement-breakpoint
CREATE TABLE "person" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"name" text NOT NULL,
	"role" text NOT NULL,
	"post" text NOT NULL,
	"skills" jsonb NOT NULL,
	"language" text NOT NULL,
	"shifts" jsonb NOT NULL,
	"from_on" date,
	"until_on" date,
	"absences" jsonb NOT NULL,
	"version" integer DEFAULT 1 NOT NULL,
	CONSTRAINT "person_cellar_id_id_pk" PRIMARY KEY("cellar_id","id"),
	CONSTRAINT "person_role" CHECK ("person"."role" in ('owner', 'winemaker', 'hand', 'lab', 'viewer'))
);
--> statement-breakpoint
CREATE TABLE "phase" (
	"cellar_id" text NOT NULL,
	"key" text NOT NULL,
	"lot_id" text NOT NULL,
	"lot_code" text NOT NULL,
	"kind" text NOT NULL,
	"vessels" jsonb NOT NULL,
	"volume_l" double precision NOT NULL,
	"start_at" timestamptz(3) NOT NULL,
	"end_at" timestamptz(3) NOT NULL,
	"end_earliest_at" timestamptz(3),
	"end_latest_at" timestamptz(3),
	"rate_per_day" jsonb NOT NULL,
	"temp_c" double precision NOT NULL,
	CONSTRAINT "phase_cellar_id_key_pk" PRIMARY KEY("cellar_id","key")
);
--> statement-breakpoint
CREATE TABLE "plan_state" (
	"cellar_id" text PRIMARY KEY NOT NULL,
	"revision" integer DEFAULT 0 NOT NULL,
	"planned_at" timestamptz(3) NOT NULL,
	"state" jsonb NOT NULL
);
--> statement-breakpoint
CREATE TABLE "protocol" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"name" text NOT NULL,
	"choices" jsonb NOT NULL,
	"version" integer DEFAULT 1 NOT NULL,
	"changed_at" timestamptz(3) NOT NULL,
	CONSTRAINT "protocol_cellar_id_id_pk" PRIMARY KEY("cellar_id","id")
);
--> statement-breakpoint
CREATE TABLE "reading" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"lot_id" text NOT NULL,
	"vessel_id" text,
	"kind" text NOT NULL,
	"value" double precision NOT NULL,
	"taken_at" timestamptz(3) NOT NULL,
	"written_at" timestamptz(3) NOT NULL,
	"person_id" text,
	"task_key" text,
	"corrects_id" text,
	"note" text,
	CONSTRAINT "reading_cellar_id_id_pk" PRIMARY KEY("cellar_id","id")
);
--> statement-breakpoint
CREATE TABLE "session" (
	"token_hash" text PRIMARY KEY NOT NULL,
	"cellar_id" text NOT NULL,
	"person_id" text NOT NULL,
	"created_at" timestamptz(3) NOT NULL,
	"seen_at" timestamptz(3) NOT NULL,
	"expires_at" timestamptz(3) NOT NULL,
	"client" text NOT NULL
);
--> statement-breakpoint
CREATE TABLE "task" (
	"cellar_id" text NOT NULL,
	"key" text NOT NULL,
	"lot_id" text,
	"lot_code" text NOT NULL,
	"step" text NOT NULL,
	"count" integer NOT NULL,
	"family" text NOT NULL,
	"name" text NOT NULL,
	"start_at" timestamptz(3) NOT NULL,
	"end_at" timestamptz(3) NOT NULL,
	"state" text NOT NULL,
	"people" jsonb NOT NULL,
	"rest" jsonb NOT NULL,
	"cancel_reason" text,
	"skip_reason" text,
	"revision" integer DEFAULT 0 NOT NULL,
	"fingerprint" text NOT NULL,
	"content" text NOT NULL,
	"created_at" timestamptz(3) NOT NULL,
	"changed_at" timestamptz(3) NOT NULL,
	CONSTRAINT "task_cellar_id_key_pk" PRIMARY KEY("cellar_id","key"),
	CONSTRAINT "task_revision" CHECK ("task"."revision" >= 0),
	CONSTRAINT "task_ends_after_start" CHECK ("task"."end_at" >= "task"."start_at")
);
--> statement-breakpoint
CREATE TABLE "task_fact" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"op_id" text,
	"task_key" text NOT NULL,
	"kind" text NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"written_at" timestamptz(3) NOT NULL,
	"person_id" text,
	"start_at" timestamptz(3),
	"people" jsonb,
	"vessels" jsonb,
	"reason" text,
	"undoes_id" text,
	CONSTRAINT "task_fact_cellar_id_id_pk" PRIMARY KEY("cellar_id","id")
);
--> statement-breakpoint
CREATE TABLE "transfer" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"lot_id" text NOT NULL,
	"from_vessel_id" text,
	"to_vessel_id" text,
	"volume_l" double precision NOT NULL,
	"loss_l" double precision NOT NULL,
	"moved_at" timestamptz(3) NOT NULL,
	"written_at" timestamptz(3) NOT NULL,
	"person_id" text,
	"task_key" text,
	CONSTRAINT "transfer_cellar_id_id_pk" PRIMARY KEY("cellar_id","id"),
	CONSTRAINT "transfer_volume_l" CHECK ("transfer"."volume_l" >= 0)
);
--> statement-breakpoint
CREATE TABLE "vessel" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"code" text NOT NULL,
	"kind" text NOT NULL,
	"volume_l" double precision NOT NULL,
	"jacket" boolean NOT NULL,
	"insulated" boolean NOT NULL,
	"min_c" double precision,
	"pressure_bar" double precision NOT NULL,
	"row" text,
	"fills" integer,
	"state" text NOT NULL,
	"bookings" jsonb NOT NULL,
	"version" integer DEFAULT 1 NOT NULL,
	CONSTRAINT "vessel_cellar_id_id_pk" PRIMARY KEY("cellar_id","id"),
	CONSTRAINT "vessel_volume_l" CHECK ("vessel"."volume_l" > 0 and "vessel"."volume_l" <= 1000000)
);
--> statement-breakpoint
ALTER TABLE "addition" ADD CONSTRAINT "addition_lot_fk" FOREIGN KEY ("cellar_id","lot_id") REFERENCES "public"."lot"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "choice_version" ADD CONSTRAINT "choice_version_lot" FOREIGN KEY ("cellar_id","lot_id") REFERENCES "public"."lot"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "feed" ADD CONSTRAINT "feed_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "lot" ADD CONSTRAINT "lot_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "machine" ADD CONSTRAINT "machine_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "person" ADD CONSTRAINT "person_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "phase" ADD CONSTRAINT "phase_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "plan_state" ADD CONSTRAINT "plan_state_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "protocol" ADD CONSTRAINT "protocol_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "reading" ADD CONSTRAINT "reading_lot_fk" FOREIGN KEY ("cellar_id","lot_id") REFERENCES "public"."lot"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "task" ADD CONSTRAINT "task_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "task_fact" ADD CONSTRAINT "task_fact_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "transfer" ADD CONSTRAINT "transfer_lot_fk" FOREIGN KEY ("cellar_id","lot_id") REFERENCES "public"."lot"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "vessel" ADD CONSTRAINT "vessel_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "addition_lot" ON "addition" USING btree ("cellar_id","lot_id","added_at");--> statement-breakpoint
CREATE UNIQUE INDEX "feed_token" ON "feed" USING btree ("token_hash");--> statement-breakpoint
CREATE UNIQUE INDEX "lot_code" ON "lot" USING btree ("cellar_id","code");--> statement-breakpoint
CREATE UNIQUE INDEX "machine_code" ON "machine" USING btree ("cellar_id","code");--> statement-breakpoint
CREATE UNIQUE INDEX "person_name" ON "person" USING btree ("cellar_id","name");--> statement-breakpoint
CREATE INDEX "phase_start" ON "phase" USING btree ("cellar_id","start_at");--> statement-breakpoint
CREATE UNIQUE INDEX "protocol_name" ON "protocol" USING btree ("cellar_id","name");--> statement-breakpoint
CREATE INDEX "reading_lot" ON "reading" USING btree ("cellar_id","lot_id","taken_at");--> statement-breakpoint
CREATE INDEX "session_person" ON "session" USING btree ("cellar_id","person_id");--> statement-breakpoint
CREATE INDEX "task_start" ON "task" USING btree ("cellar_id","start_at");--> statement-breakpoint
CREATE INDEX "task_lot" ON "task" USING btree ("cellar_id","lot_id","start_at");--> statement-breakpoint
CREATE UNIQUE INDEX "task_fact_op" ON "task_fact" USING btree ("cellar_id","op_id");--> statement-breakpoint
CREATE INDEX "task_fact_task" ON "task_fact" USING btree ("cellar_id","task_key","written_at");--> statement-breakpoint
CREATE INDEX "transfer_lot" ON "transfer" USING btree ("cellar_id","lot_id","moved_at");--> statement-breakpoint
CREATE UNIQUE INDEX "vessel_code" ON "vessel" USING btree ("cellar_id","code");