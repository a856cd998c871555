CREATE TABLE "attempt" (
	"key" text PRIMARY KEY NOT NULL,
	"points" integer NOT NULL,
	"ends_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
CREATE TABLE "passphrase_link" (
	"token_hash" text PRIMARY KEY NOT NULL,
	"account_id" uuid NOT NULL,
	"expires_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
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
CREATE TABLE "serving_note" (
	"id" bigserial PRIMARY KEY NOT NULL,
	"session_id" uuid NOT NULL,
	"conditions" jsonb NOT NULL,
	"by" uuid,
	"at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
CREATE TABLE "arm_safety" (
	"id" uuid PRIMARY KEY NOT NULL,
	"number" integer GENERATED ALWAYS AS IDENTITY (sequence name "arm_safety_number_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 2147483647 START WITH 1 CACHE 1),
	"arm_id" uuid NOT NULL,
	"mould" boolean,
	"hopped" boolean,
	"stood_warm" boolean,
	"gravity_falling" boolean,
	"pitched_on" date,
	"ph" double precision,
	"ph_on" date,
	"meter_calibrated_on" date,
	"written_by" uuid,
	"written_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
ALTER TABLE "signed_in" ADD COLUMN "id" uuid DEFAULT gen_random_uuid() NOT NULL;--> statement-breakpoint
ALTER TABLE "signed_in" ADD COLUMN "last_used_at" timestamp with time zone DEFAULT now() NOT NULL;--> statement-breakpoint
ALTER TABLE "signed_in" ADD COLUMN "device" text DEFAULT '' NOT NULL;--> statement-breakpoint
ALTER TABLE "ballot" ADD COLUMN "swallowing" text;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "smell_only" boolean DEFAULT false NOT NULL;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "stopped_at" timestamp with time zone;--> statement-breakpoint
ALTER TABLE "passphrase_link" ADD CONSTRAINT "passphrase_link_account_id_account_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."account"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "dilution_step" ADD CONSTRAINT "dilution_step_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "dilution_step" ADD CONSTRAINT "dilution_step_sample_id_sample_key_id_fk" FOREIGN KEY ("sample_id") REFERENCES "public"."sample_key"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "dilution_step" ADD CONSTRAINT "dilution_step_by_account_id_fk" FOREIGN KEY ("by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "serving_note" ADD CONSTRAINT "serving_note_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "serving_note" ADD CONSTRAINT "serving_note_by_account_id_fk" FOREIGN KEY ("by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "arm_safety" ADD CONSTRAINT "arm_safety_arm_id_arm_id_fk" FOREIGN KEY ("arm_id") REFERENCES "public"."arm"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "arm_safety" ADD CONSTRAINT "arm_safety_written_by_account_id_fk" FOREIGN KEY ("written_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "attempt_end" ON "attempt" USING btree ("ends_at");--> statement-breakpoint
CREATE INDEX "dilution_step_session" ON "dilution_step" USING btree ("session_id");--> statement-breakpoint
CREATE INDEX "serving_note_session" ON "serving_note" USING btree ("session_id");--> statement-breakpoint
CREATE INDEX "arm_safety_arm" ON "arm_safety" USING btree ("arm_id","number");--> statement-breakpoint
ALTER TABLE "signed_in" ADD CONSTRAINT "signed_in_id_unique" UNIQUE("id");