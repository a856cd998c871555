CREATE TABLE "dilution_step" (
	"id" bigserial PRIMARY KEY NOT NULL,
	"session_id" uuid NOT NULL,
	"sample_id" uuid NOT NULL,
	"kind" text NOT NULL,
	"amount" text,
	"volume_ml" double precision,
	"measurement" bigint,
	"by" uuid,
	"at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
ALTER TABLE "dilution_step" ADD CONSTRAINT "dilution_step_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "dilution_step" ADD CONSTRAINT "dilution_step_sample_id_sample_key_id_fk" FOREIGN KEY ("sample_id") REFERENCES "public"."sample_key"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "dilution_step" ADD CONSTRAINT "dilution_step_by_account_id_fk" FOREIGN KEY ("by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "dilution_step_session" ON "dilution_step" USING btree ("session_id");