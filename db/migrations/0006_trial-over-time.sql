CREATE TABLE "passkey" (
	"id" uuid PRIMARY KEY NOT NULL,
	"account_id" uuid NOT NULL,
	"place" text NOT NULL,
	"credential_id" text NOT NULL,
	"public_key" text NOT NULL,
	"counter" bigint NOT NULL,
	"transports" text[] NOT NULL,
	"name" text NOT NULL,
	"created_at" timestamp with time zone NOT NULL,
	"last_used_at" timestamp with time zone,
	CONSTRAINT "passkey_credential_id_unique" UNIQUE("credential_id")
);
--> statement-breakpoint
CREATE TABLE "passkey_challenge" (
	"challenge_hash" text PRIMARY KEY NOT NULL,
	"account_id" uuid NOT NULL,
	"purpose" text NOT NULL,
	"browser_hash" text NOT NULL,
	"expires_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
CREATE TABLE "pending_sign_in" (
	"token_hash" text PRIMARY KEY NOT NULL,
	"account_id" uuid NOT NULL,
	"expires_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
CREATE TABLE "recovery_code" (
	"account_id" uuid NOT NULL,
	"salt" text NOT NULL,
	"code_hash" text NOT NULL,
	CONSTRAINT "recovery_code_account_id_code_hash_pk" PRIMARY KEY("account_id","code_hash")
);
--> statement-breakpoint
CREATE TABLE "calendar_address" (
	"panel_id" uuid PRIMARY KEY NOT NULL,
	"token_hash" text NOT NULL,
	"drawn_by" uuid,
	"drawn_at" timestamp with time zone NOT NULL,
	CONSTRAINT "calendar_address_token" UNIQUE("token_hash")
);
--> statement-breakpoint
CREATE TABLE "pull" (
	"id" uuid PRIMARY KEY NOT NULL,
	"trial_id" uuid NOT NULL,
	"name" text NOT NULL,
	"hours" double precision,
	"on_day" date,
	"unplanned_at" timestamp with time zone,
	"ml_per_arm" double precision,
	"note" text NOT NULL,
	"created_by" uuid,
	"created_at" timestamp with time zone NOT NULL,
	"cancelled_at" timestamp with time zone,
	CONSTRAINT "pull_when" CHECK (num_nonnulls("pull"."hours", "pull"."on_day", "pull"."unplanned_at") = 1),
	CONSTRAINT "pull_hours" CHECK ("pull"."hours" >= 0),
	CONSTRAINT "pull_ml" CHECK ("pull"."ml_per_arm" >= 0)
);
--> statement-breakpoint
CREATE TABLE "reading" (
	"id" uuid PRIMARY KEY NOT NULL,
	"number" integer GENERATED ALWAYS AS IDENTITY (sequence name "reading_number_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 2147483647 START WITH 1 CACHE 1),
	"pull_id" uuid NOT NULL,
	"arm_id" uuid NOT NULL,
	"replaces" uuid,
	"taken_at" timestamp with time zone NOT NULL,
	"typed" jsonb NOT NULL,
	"ph" double precision,
	"meter_calibrated_on" date,
	"gravity" double precision,
	"temperature_c" double precision,
	"taken_ml" double precision,
	"added" text NOT NULL,
	"looks" text NOT NULL,
	"smell" text NOT NULL,
	"note" text NOT NULL,
	"confirmed" jsonb NOT NULL,
	"written_by" uuid,
	"written_at" timestamp with time zone NOT NULL,
	CONSTRAINT "reading_corrected_once" UNIQUE("replaces"),
	CONSTRAINT "reading_first" UNIQUE NULLS NOT DISTINCT("pull_id","arm_id","replaces")
);
--> statement-breakpoint
CREATE TABLE "reading_photo" (
	"id" uuid PRIMARY KEY NOT NULL,
	"pull_id" uuid NOT NULL,
	"arm_id" uuid NOT NULL,
	"jpeg" "bytea" NOT NULL,
	"sent_hash" text NOT NULL,
	"written_by" uuid,
	"written_at" timestamp with time zone NOT NULL,
	CONSTRAINT "reading_photo_size" CHECK (octet_length("reading_photo"."jpeg") <= 409600)
);
--> statement-breakpoint
CREATE TABLE "fair_test_answer" (
	"id" uuid PRIMARY KEY NOT NULL,
	"number" integer GENERATED ALWAYS AS IDENTITY (sequence name "fair_test_answer_number_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 2147483647 START WITH 1 CACHE 1),
	"trial_id" uuid NOT NULL,
	"finding" text NOT NULL,
	"grounds" text[] NOT NULL,
	"answer" text NOT NULL,
	"written_by" uuid,
	"written_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
CREATE TABLE "liquid_entry" (
	"id" uuid PRIMARY KEY NOT NULL,
	"number" integer GENERATED ALWAYS AS IDENTITY (sequence name "liquid_entry_number_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 2147483647 START WITH 1 CACHE 1),
	"arm_id" uuid NOT NULL,
	"kind" text NOT NULL,
	"ml" double precision NOT NULL,
	"at" timestamp with time zone NOT NULL,
	"note" text NOT NULL,
	"written_by" uuid,
	CONSTRAINT "liquid_entry_ml" CHECK ("liquid_entry"."ml" >= 0)
);
--> statement-breakpoint
CREATE TABLE "trial_change" (
	"id" uuid PRIMARY KEY NOT NULL,
	"number" integer GENERATED ALWAYS AS IDENTITY (sequence name "trial_change_number_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 2147483647 START WITH 1 CACHE 1),
	"trial_id" uuid NOT NULL,
	"arm_id" uuid,
	"field" text NOT NULL,
	"before" text NOT NULL,
	"after" text NOT NULL,
	"written_by" uuid,
	"written_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
ALTER TABLE "signed_in" ADD COLUMN "by" text DEFAULT 'passphrase' NOT NULL;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "trial_words" jsonb;--> statement-breakpoint
ALTER TABLE "arm" ADD COLUMN "making" jsonb DEFAULT '{}'::jsonb NOT NULL;--> statement-breakpoint
ALTER TABLE "deviation" ADD COLUMN "sign" text;--> statement-breakpoint
ALTER TABLE "trial" ADD COLUMN "making" jsonb DEFAULT '{}'::jsonb NOT NULL;--> statement-breakpoint
ALTER TABLE "trial" ADD COLUMN "factor_fields" text[] DEFAULT '{}' NOT NULL;--> statement-breakpoint
ALTER TABLE "trial" ADD COLUMN "archived_at" timestamp with time zone;--> statement-breakpoint
ALTER TABLE "trial" ADD COLUMN "pitched_at" timestamp with time zone;--> statement-breakpoint
ALTER TABLE "passkey" ADD CONSTRAINT "passkey_account_id_account_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."account"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "passkey_challenge" ADD CONSTRAINT "passkey_challenge_account_id_account_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."account"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pending_sign_in" ADD CONSTRAINT "pending_sign_in_account_id_account_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."account"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "recovery_code" ADD CONSTRAINT "recovery_code_account_id_account_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."account"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "calendar_address" ADD CONSTRAINT "calendar_address_panel_id_panel_id_fk" FOREIGN KEY ("panel_id") REFERENCES "public"."panel"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "calendar_address" ADD CONSTRAINT "calendar_address_drawn_by_account_id_fk" FOREIGN KEY ("drawn_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pull" ADD CONSTRAINT "pull_trial_id_trial_id_fk" FOREIGN KEY ("trial_id") REFERENCES "public"."trial"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pull" ADD CONSTRAINT "pull_created_by_account_id_fk" FOREIGN KEY ("created_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "reading" ADD CONSTRAINT "reading_pull_id_pull_id_fk" FOREIGN KEY ("pull_id") REFERENCES "public"."pull"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "reading" ADD CONSTRAINT "reading_arm_id_arm_id_fk" FOREIGN KEY ("arm_id") REFERENCES "public"."arm"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "reading" ADD CONSTRAINT "reading_replaces_reading_id_fk" FOREIGN KEY ("replaces") REFERENCES "public"."reading"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "reading" ADD CONSTRAINT "reading_written_by_account_id_fk" FOREIGN KEY ("written_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "reading_photo" ADD CONSTRAINT "reading_photo_pull_id_pull_id_fk" FOREIGN KEY ("pull_id") REFERENCES "public"."pull"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "reading_photo" ADD CONSTRAINT "reading_photo_arm_id_arm_id_fk" FOREIGN KEY ("arm_id") REFERENCES "public"."arm"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "reading_photo" ADD CONSTRAINT "reading_photo_written_by_account_id_fk" FOREIGN KEY ("written_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fair_test_answer" ADD CONSTRAINT "fair_test_answer_trial_id_trial_id_fk" FOREIGN KEY ("trial_id") REFERENCES "public"."trial"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fair_test_answer" ADD CONSTRAINT "fair_test_answer_written_by_account_id_fk" FOREIGN KEY ("written_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "liquid_entry" ADD CONSTRAINT "liquid_entry_arm_id_arm_id_fk" FOREIGN KEY ("arm_id") REFERENCES "public"."arm"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "liquid_entry" ADD CONSTRAINT "liquid_entry_written_by_account_id_fk" FOREIGN KEY ("written_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trial_change" ADD CONSTRAINT "trial_change_trial_id_trial_id_fk" FOREIGN KEY ("trial_id") REFERENCES "public"."trial"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trial_change" ADD CONSTRAINT "trial_change_arm_id_arm_id_fk" FOREIGN KEY ("arm_id") REFERENCES "public"."arm"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trial_change" ADD CONSTRAINT "trial_change_written_by_account_id_fk" FOREIGN KEY ("written_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "passkey_account" ON "passkey" USING btree ("account_id");--> statement-breakpoint
CREATE INDEX "passkey_challenge_end" ON "passkey_challenge" USING btree ("expires_at");--> statement-breakpoint
CREATE INDEX "pull_trial" ON "pull" USING btree ("trial_id");--> statement-breakpoint
CREATE INDEX "reading_pull" ON "reading" USING btree ("pull_id","number");--> statement-breakpoint
CREATE INDEX "reading_arm" ON "reading" USING btree ("arm_id","taken_at");--> statement-breakpoint
CREATE INDEX "reading_photo_pull" ON "reading_photo" USING btree ("pull_id","arm_id");--> statement-breakpoint
CREATE INDEX "fair_test_answer_trial" ON "fair_test_answer" USING btree ("trial_id","number");--> statement-breakpoint
CREATE INDEX "liquid_entry_arm" ON "liquid_entry" USING btree ("arm_id");--> statement-breakpoint
CREATE INDEX "trial_change_trial" ON "trial_change" USING btree ("trial_id","number");