ALTER TABLE "addition" ADD CONSTRAINT "addition_vessel_fk" FOREIGN KEY ("cellar_id","vessel_id") REFERENCES "public"."vessel"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "credential" ADD CONSTRAINT "credential_person_fk" FOREIGN KEY ("cellar_id","person_id") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "feed" ADD CONSTRAINT "feed_person_fk" FOREIGN KEY ("cellar_id","person_id") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "reading" ADD CONSTRAINT "reading_vessel_fk" FOREIGN KEY ("cellar_id","vessel_id") REFERENCES "public"."vessel"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "reading" ADD CONSTRAINT "reading_corrects_fk" FOREIGN KEY ("cellar_id","corrects_id") REFERENCES "public"."reading"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "session" ADD CONSTRAINT "session_person_fk" FOREIGN KEY ("cellar_id","person_id") REFERENCES "public"."person"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "task_fact" ADD CONSTRAINT "task_fact_undoes_fk" FOREIGN KEY ("cellar_id","undoes_id") REFERENCES "public"."task_fact"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "transfer" ADD CONSTRAINT "transfer_from_fk" FOREIGN KEY ("cellar_id","from_vessel_id") REFERENCES "public"."vessel"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "transfer" ADD CONSTRAINT "transfer_to_fk" FOREIGN KEY ("cellar_id","to_vessel_id") REFERENCES "public"."vessel"("cellar_id","id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "task_end" ON "task" USING btree ("cellar_id","end_at");--> statement-breakpoint
ALTER TABLE "addition" ADD CONSTRAINT "addition_treated_l" CHECK ("addition"."treated_l" > 0 and "addition"."treated_l" < 'Infinity');--> statement-breakpoint
ALTER TABLE "lot" ADD CONSTRAINT "lot_code_in_keys" CHECK ("lot"."code" !~ '[/[:space:]]' and "lot"."code" not in ('', 'house'));--> statement-breakpoint
ALTER TABLE "machine" ADD CONSTRAINT "machine_capacity" CHECK ("machine"."capacity" > 0 and "machine"."capacity" <= 1000000);--> statement-breakpoint
ALTER TABLE "person" ADD CONSTRAINT "person_span" CHECK ("person"."until_on" >= "person"."from_on");--> statement-breakpoint
ALTER TABLE "reading" ADD CONSTRAINT "reading_value" CHECK ("reading"."value" > '-Infinity' and "reading"."value" < 'Infinity');--> statement-breakpoint
ALTER TABLE "task" ADD CONSTRAINT "task_cancel_reason" CHECK (("task"."state" = 'cancelled') = ("task"."cancel_reason" is not null));--> statement-breakpoint
ALTER TABLE "task_fact" ADD CONSTRAINT "task_fact_undo" CHECK (("task_fact"."kind" = 'undo') = ("task_fact"."undoes_id" is not null));--> statement-breakpoint
ALTER TABLE "transfer" ADD CONSTRAINT "transfer_loss_l" CHECK ("transfer"."loss_l" > '-Infinity' and "transfer"."loss_l" < 'Infinity');