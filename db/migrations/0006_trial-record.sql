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
ALTER TABLE "session" ADD COLUMN "trial_words" jsonb;--> statement-breakpoint
ALTER TABLE "arm" ADD COLUMN "making" jsonb DEFAULT '{}'::jsonb NOT NULL;--> statement-breakpoint
ALTER TABLE "deviation" ADD COLUMN "sign" text;--> statement-breakpoint
ALTER TABLE "trial" ADD COLUMN "making" jsonb DEFAULT '{}'::jsonb NOT NULL;--> statement-breakpoint
ALTER TABLE "trial" ADD COLUMN "factor_fields" text[] DEFAULT '{}' NOT NULL;--> statement-breakpoint
ALTER TABLE "trial" ADD COLUMN "archived_at" timestamp with time zone;--> statement-breakpoint
ALTER TABLE "fair_test_answer" ADD CONSTRAINT "fair_test_answer_trial_id_trial_id_fk" FOREIGN KEY ("trial_id") REFERENCES "public"."trial"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fair_test_answer" ADD CONSTRAINT "fair_test_answer_written_by_account_id_fk" FOREIGN KEY ("written_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "liquid_entry" ADD CONSTRAINT "liquid_entry_arm_id_arm_id_fk" FOREIGN KEY ("arm_id") REFERENCES "public"."arm"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "liquid_entry" ADD CONSTRAINT "liquid_entry_written_by_account_id_fk" FOREIGN KEY ("written_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trial_change" ADD CONSTRAINT "trial_change_trial_id_trial_id_fk" FOREIGN KEY ("trial_id") REFERENCES "public"."trial"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trial_change" ADD CONSTRAINT "trial_change_arm_id_arm_id_fk" FOREIGN KEY ("arm_id") REFERENCES "public"."arm"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trial_change" ADD CONSTRAINT "trial_change_written_by_account_id_fk" FOREIGN KEY ("written_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "fair_test_answer_trial" ON "fair_test_answer" USING btree ("trial_id","number");--> statement-breakpoint
CREATE INDEX "liquid_entry_arm" ON "liquid_entry" USING btree ("arm_id");--> statement-breakpoint
CREATE INDEX "trial_change_trial" ON "trial_change" USING btree ("trial_id","number");