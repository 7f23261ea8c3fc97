CREATE TABLE "challenge" (
	"token_hash" text PRIMARY KEY NOT NULL,
	"cellar_id" text NOT NULL,
	"person_id" text NOT NULL,
	"purpose" text NOT NULL,
	"proof" text NOT NULL,
	"question" text NOT NULL,
	"tries" integer DEFAULT 0 NOT NULL,
	"expires_at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
CREATE TABLE "passkey" (
	"id" text PRIMARY KEY NOT NULL,
	"account_id" text NOT NULL,
	"public_key" text NOT NULL,
	"counter" bigint NOT NULL,
	"transports" jsonb NOT NULL,
	"name" text NOT NULL,
	"created_at" timestamptz(3) NOT NULL,
	"used_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "recovery_code" (
	"account_id" text NOT NULL,
	"code_hash" text NOT NULL,
	"created_at" timestamptz(3) NOT NULL,
	"used_at" timestamptz(3),
	CONSTRAINT "recovery_code_account_id_code_hash_pk" PRIMARY KEY("account_id","code_hash")
);
--> statement-breakpoint
CREATE TABLE "account" (
	"id" text PRIMARY KEY NOT NULL,
	"name" text NOT NULL,
	"password_hash" text,
	"password_changed_at" timestamptz(3),
	"created_at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
ALTER TABLE "login_link" ADD COLUMN "id" text DEFAULT gen_random_uuid()::text NOT NULL;--> statement-breakpoint
ALTER TABLE "login_link" ADD COLUMN "made_by" text;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "id" text DEFAULT gen_random_uuid()::text NOT NULL;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "proof" text DEFAULT 'link' NOT NULL;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "device_hash" text;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "pin_hash" text;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "pin_tries" integer DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "locked_at" timestamptz(3);--> statement-breakpoint
ALTER TABLE "person" ADD COLUMN "account_id" text;--> statement-breakpoint
ALTER TABLE "person" ADD COLUMN "removed_at" timestamptz(3);--> statement-breakpoint
ALTER TABLE "challenge" ADD CONSTRAINT "challenge_person_fk" FOREIGN KEY ("cellar_id","person_id") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "passkey" ADD CONSTRAINT "passkey_account_id_account_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."account"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "recovery_code" ADD CONSTRAINT "recovery_code_account_id_account_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."account"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "passkey_account" ON "passkey" USING btree ("account_id");--> statement-breakpoint
CREATE UNIQUE INDEX "account_name" ON "account" USING btree (lower("name"));--> statement-breakpoint
ALTER TABLE "person" ADD CONSTRAINT "person_account_id_account_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."account"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "session_device" ON "session" USING btree ("device_hash");--> statement-breakpoint
CREATE UNIQUE INDEX "person_account" ON "person" USING btree ("account_id","cellar_id");--> statement-breakpoint
-- Whoever has a password becomes an account; the name typed to sign in stays what it was. Where two cellars have the
-- same name, the first keeps it, as before.
INSERT INTO "account" ("id", "name", "password_hash", "password_changed_at", "created_at")
SELECT md5(c."cellar_id" || '/' || c."person_id")::uuid::text,
	CASE WHEN row_number() OVER (PARTITION BY lower(p."name") ORDER BY c."cellar_id", c."person_id") = 1
		THEN p."name" ELSE p."name" || ' ' || c."cellar_id" || ' ' || c."person_id" END,
	c."password_hash", c."changed_at", c."changed_at"
FROM "credential" c JOIN "person" p ON p."cellar_id" = c."cellar_id" AND p."id" = c."person_id";--> statement-breakpoint
UPDATE "person" p SET "account_id" = md5(c."cellar_id" || '/' || c."person_id")::uuid::text
FROM "credential" c WHERE c."cellar_id" = p."cellar_id" AND c."person_id" = p."id";
