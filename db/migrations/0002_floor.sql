CREATE TABLE "handover" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"words" text NOT NULL,
	"person_id" text NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"written_at" timestamptz(3) NOT NULL,
	CONSTRAINT "handover_cellar_id_id_pk" PRIMARY KEY("cellar_id","id")
);
--> statement-breakpoint
CREATE TABLE "handover_read" (
	"cellar_id" text NOT NULL,
	"handover_id" text NOT NULL,
	"person_id" text NOT NULL,
	"at" timestamptz(3) NOT NULL,
	CONSTRAINT "handover_read_cellar_id_handover_id_person_id_pk" PRIMARY KEY("cellar_id","handover_id","person_id")
);
--> statement-breakpoint
CREATE TABLE "photo" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"task_key" text,
	"lot_id" text,
	"vessel_id" text,
	"words" text NOT NULL,
	"mime" text NOT NULL,
	"size" integer NOT NULL,
	"sha256" text NOT NULL,
	"bytes" "bytea" NOT NULL,
	"person_id" text NOT NULL,
	"taken_at" timestamptz(3) NOT NULL,
	"written_at" timestamptz(3) NOT NULL,
	CONSTRAINT "photo_cellar_id_id_pk" PRIMARY KEY("cellar_id","id"),
	CONSTRAINT "photo_size" CHECK ("photo"."size" > 0 and "photo"."size" <= 163840 and "photo"."size" = octet_length("photo"."bytes")),
	CONSTRAINT "photo_mime" CHECK ("photo"."mime" in ('image/jpeg', 'image/png', 'image/webp'))
);
--> statement-breakpoint
CREATE TABLE "trouble" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"kind" text NOT NULL,
	"lot_id" text,
	"vessel_id" text,
	"task_key" text,
	"words" text NOT NULL,
	"person_id" text NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"written_at" timestamptz(3) NOT NULL,
	CONSTRAINT "trouble_cellar_id_id_pk" PRIMARY KEY("cellar_id","id")
);
--> statement-breakpoint
CREATE TABLE "trouble_answer" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"trouble_id" text NOT NULL,
	"kind" text NOT NULL,
	"words" text NOT NULL,
	"person_id" text NOT NULL,
	"at" timestamptz(3) NOT NULL,
	CONSTRAINT "trouble_answer_cellar_id_id_pk" PRIMARY KEY("cellar_id","id"),
	CONSTRAINT "trouble_answer_kind" CHECK ("trouble_answer"."kind" in ('seen', 'settled'))
);
--> statement-breakpoint
ALTER TABLE "handover" ADD CONSTRAINT "handover_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "handover" ADD CONSTRAINT "handover_person_fk" FOREIGN KEY ("cellar_id","person_id") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "handover_read" ADD CONSTRAINT "handover_read_handover_fk" FOREIGN KEY ("cellar_id","handover_id") REFERENCES "public"."handover"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "handover_read" ADD CONSTRAINT "handover_read_person_fk" FOREIGN KEY ("cellar_id","person_id") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "photo" ADD CONSTRAINT "photo_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "photo" ADD CONSTRAINT "photo_lot_fk" FOREIGN KEY ("cellar_id","lot_id") REFERENCES "public"."lot"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "photo" ADD CONSTRAINT "photo_vessel_fk" FOREIGN KEY ("cellar_id","vessel_id") REFERENCES "public"."vessel"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "photo" ADD CONSTRAINT "photo_person_fk" FOREIGN KEY ("cellar_id","person_id") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trouble" ADD CONSTRAINT "trouble_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trouble" ADD CONSTRAINT "trouble_lot_fk" FOREIGN KEY ("cellar_id","lot_id") REFERENCES "public"."lot"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trouble" ADD CONSTRAINT "trouble_vessel_fk" FOREIGN KEY ("cellar_id","vessel_id") REFERENCES "public"."vessel"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trouble" ADD CONSTRAINT "trouble_person_fk" FOREIGN KEY ("cellar_id","person_id") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trouble_answer" ADD CONSTRAINT "trouble_answer_trouble_fk" FOREIGN KEY ("cellar_id","trouble_id") REFERENCES "public"."trouble"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trouble_answer" ADD CONSTRAINT "trouble_answer_person_fk" FOREIGN KEY ("cellar_id","person_id") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "handover_at" ON "handover" USING btree ("cellar_id","at");--> statement-breakpoint
CREATE INDEX "photo_task" ON "photo" USING btree ("cellar_id","task_key");--> statement-breakpoint
CREATE INDEX "trouble_at" ON "trouble" USING btree ("cellar_id","at");--> statement-breakpoint
CREATE INDEX "trouble_answer_of" ON "trouble_answer" USING btree ("cellar_id","trouble_id");