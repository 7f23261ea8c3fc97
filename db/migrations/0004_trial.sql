CREATE TABLE "proposal" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	"because" text NOT NULL,
	"moves" jsonb NOT NULL,
	"state" text NOT NULL,
	"decided_at" timestamptz(3),
	"decided_by" text,
	"refused" jsonb NOT NULL,
	CONSTRAINT "proposal_cellar_id_id_pk" PRIMARY KEY("cellar_id","id"),
	CONSTRAINT "proposal_state" CHECK ("proposal"."state" in ('open', 'accepted', 'partly', 'refused', 'passed'))
);
--> statement-breakpoint
CREATE TABLE "trial" (
	"cellar_id" text NOT NULL,
	"id" text NOT NULL,
	"name" text NOT NULL,
	"changes" jsonb NOT NULL,
	"state" text NOT NULL,
	"created_at" timestamptz(3) NOT NULL,
	"created_by" text NOT NULL,
	"decided_at" timestamptz(3),
	"decided_by" text,
	"undo" jsonb,
	"version" integer DEFAULT 1 NOT NULL,
	CONSTRAINT "trial_cellar_id_id_pk" PRIMARY KEY("cellar_id","id"),
	CONSTRAINT "trial_state" CHECK ("trial"."state" in ('open', 'adopted', 'dropped', 'undone')),
	CONSTRAINT "trial_decided" CHECK (("trial"."state" = 'open') = ("trial"."decided_at" is null))
);
--> statement-breakpoint
ALTER TABLE "proposal" ADD CONSTRAINT "proposal_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "proposal" ADD CONSTRAINT "proposal_decided_fk" FOREIGN KEY ("cellar_id","decided_by") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trial" ADD CONSTRAINT "trial_cellar_id_cellar_id_fk" FOREIGN KEY ("cellar_id") REFERENCES "public"."cellar"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trial" ADD CONSTRAINT "trial_created_fk" FOREIGN KEY ("cellar_id","created_by") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trial" ADD CONSTRAINT "trial_decided_fk" FOREIGN KEY ("cellar_id","decided_by") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "proposal_made" ON "proposal" USING btree ("cellar_id","made_at");--> statement-breakpoint
CREATE UNIQUE INDEX "proposal_open" ON "proposal" USING btree ("cellar_id") WHERE "proposal"."state" = 'open';--> statement-breakpoint
CREATE INDEX "trial_created" ON "trial" USING btree ("cellar_id","created_at");