ALTER TABLE "cellar" ADD COLUMN "sites" jsonb DEFAULT '[]'::jsonb NOT NULL;--> statement-breakpoint
ALTER TABLE "machine" ADD COLUMN "site" text;--> statement-breakpoint
ALTER TABLE "vessel" ADD COLUMN "site" text;