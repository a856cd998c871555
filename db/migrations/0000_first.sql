CREATE TABLE "account" (
	"id" uuid PRIMARY KEY NOT NULL,
	"name" text NOT NULL,
	"passphrase_hash" text NOT NULL,
	"created_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
CREATE TABLE "signed_in" (
	"token_hash" text PRIMARY KEY NOT NULL,
	"account_id" uuid NOT NULL,
	"created_at" timestamp with time zone NOT NULL,
	"expires_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
CREATE TABLE "ballot" (
	"id" uuid PRIMARY KEY NOT NULL,
	"session_id" uuid NOT NULL,
	"tray_id" uuid NOT NULL,
	"odd_serving_id" uuid NOT NULL,
	"confidence" text NOT NULL,
	"descriptors" text[] NOT NULL,
	"comment" text NOT NULL,
	"received_at" timestamp with time zone NOT NULL,
	CONSTRAINT "ballot_tray" UNIQUE("tray_id")
);
--> statement-breakpoint
CREATE TABLE "plan_key" (
	"session_id" uuid PRIMARY KEY NOT NULL,
	"seed" text NOT NULL
);
--> statement-breakpoint
CREATE TABLE "pour_tick" (
	"id" bigserial PRIMARY KEY NOT NULL,
	"session_id" uuid NOT NULL,
	"serving_id" uuid NOT NULL,
	"poured" boolean NOT NULL,
	"by" uuid,
	"at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
CREATE TABLE "sample_key" (
	"id" uuid PRIMARY KEY NOT NULL,
	"session_id" uuid NOT NULL,
	"arm_id" uuid NOT NULL
);
--> statement-breakpoint
CREATE TABLE "seal_leaf" (
	"session_id" uuid NOT NULL,
	"index" integer NOT NULL,
	"kind" text NOT NULL,
	"nonce" text NOT NULL,
	"body" jsonb NOT NULL,
	CONSTRAINT "seal_leaf_session_id_index_pk" PRIMARY KEY("session_id","index")
);
--> statement-breakpoint
CREATE TABLE "serving_key" (
	"serving_id" uuid PRIMARY KEY NOT NULL,
	"session_id" uuid NOT NULL,
	"sample_id" uuid NOT NULL
);
--> statement-breakpoint
CREATE TABLE "invitation" (
	"token_hash" text PRIMARY KEY NOT NULL,
	"panel_id" uuid,
	"role" text NOT NULL,
	"created_at" timestamp with time zone NOT NULL,
	"expires_at" timestamp with time zone NOT NULL,
	"used_at" timestamp with time zone
);
--> statement-breakpoint
CREATE TABLE "membership" (
	"panel_id" uuid NOT NULL,
	"account_id" uuid NOT NULL,
	"role" text NOT NULL,
	CONSTRAINT "membership_panel_id_account_id_pk" PRIMARY KEY("panel_id","account_id")
);
--> statement-breakpoint
CREATE TABLE "panel" (
	"id" uuid PRIMARY KEY NOT NULL,
	"name" text NOT NULL,
	"demo" boolean NOT NULL,
	"created_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
CREATE TABLE "seat" (
	"id" uuid PRIMARY KEY NOT NULL,
	"session_id" uuid NOT NULL,
	"number" integer NOT NULL,
	"spare" boolean NOT NULL,
	"token_hash" text,
	"taken_at" timestamp with time zone,
	"cautions_confirmed_at" timestamp with time zone,
	"progress" jsonb,
	CONSTRAINT "seat_token_hash_unique" UNIQUE("token_hash"),
	CONSTRAINT "seat_number" UNIQUE("session_id","number")
);
--> statement-breakpoint
CREATE TABLE "serving" (
	"id" uuid PRIMARY KEY NOT NULL,
	"session_id" uuid NOT NULL,
	"tray_id" uuid NOT NULL,
	"position" integer NOT NULL,
	"code" text NOT NULL,
	CONSTRAINT "serving_position" UNIQUE("tray_id","position"),
	CONSTRAINT "serving_code" UNIQUE("tray_id","code")
);
--> statement-breakpoint
CREATE TABLE "session" (
	"id" uuid PRIMARY KEY NOT NULL,
	"panel_id" uuid NOT NULL,
	"trial_id" uuid NOT NULL,
	"kind" text NOT NULL,
	"state" text NOT NULL,
	"blinding" text NOT NULL,
	"settings" jsonb NOT NULL,
	"root" text,
	"created_at" timestamp with time zone NOT NULL,
	"sealed_at" timestamp with time zone,
	"opened_at" timestamp with time zone,
	"closed_at" timestamp with time zone,
	"revealed_at" timestamp with time zone,
	"join_code" text,
	"join_token" text,
	"last_seq" integer DEFAULT 0 NOT NULL,
	CONSTRAINT "session_join_code_unique" UNIQUE("join_code"),
	CONSTRAINT "session_join_token_unique" UNIQUE("join_token")
);
--> statement-breakpoint
CREATE TABLE "session_event" (
	"session_id" uuid NOT NULL,
	"seq" integer NOT NULL,
	"at" timestamp with time zone NOT NULL,
	"event" jsonb NOT NULL,
	CONSTRAINT "session_event_session_id_seq_pk" PRIMARY KEY("session_id","seq")
);
--> statement-breakpoint
CREATE TABLE "tray" (
	"id" uuid PRIMARY KEY NOT NULL,
	"session_id" uuid NOT NULL,
	"seat_id" uuid NOT NULL,
	"replicate" integer NOT NULL,
	CONSTRAINT "tray_replicate" UNIQUE("seat_id","replicate")
);
--> statement-breakpoint
CREATE TABLE "arm" (
	"id" uuid PRIMARY KEY NOT NULL,
	"trial_id" uuid NOT NULL,
	"position" integer NOT NULL,
	"name" text NOT NULL,
	"differs" text NOT NULL,
	"volume_ml" double precision NOT NULL,
	"abv" double precision,
	"allergens" text[] NOT NULL,
	CONSTRAINT "arm_position" UNIQUE("trial_id","position"),
	CONSTRAINT "arm_volume" CHECK ("arm"."volume_ml" >= 0),
	CONSTRAINT "arm_abv" CHECK ("arm"."abv" >= 0 and "arm"."abv" <= 100)
);
--> statement-breakpoint
CREATE TABLE "deviation" (
	"id" uuid PRIMARY KEY NOT NULL,
	"arm_id" uuid NOT NULL,
	"on_day" date NOT NULL,
	"note" text NOT NULL,
	"written_by" uuid,
	"written_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
CREATE TABLE "trial" (
	"id" uuid PRIMARY KEY NOT NULL,
	"panel_id" uuid NOT NULL,
	"title" text NOT NULL,
	"question" text NOT NULL,
	"factor" text NOT NULL,
	"base" text NOT NULL,
	"created_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
ALTER TABLE "signed_in" ADD CONSTRAINT "signed_in_account_id_account_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."account"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "ballot" ADD CONSTRAINT "ballot_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "ballot" ADD CONSTRAINT "ballot_tray_id_tray_id_fk" FOREIGN KEY ("tray_id") REFERENCES "public"."tray"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "ballot" ADD CONSTRAINT "ballot_odd_serving_id_serving_id_fk" FOREIGN KEY ("odd_serving_id") REFERENCES "public"."serving"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "plan_key" ADD CONSTRAINT "plan_key_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pour_tick" ADD CONSTRAINT "pour_tick_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pour_tick" ADD CONSTRAINT "pour_tick_serving_id_serving_id_fk" FOREIGN KEY ("serving_id") REFERENCES "public"."serving"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "pour_tick" ADD CONSTRAINT "pour_tick_by_account_id_fk" FOREIGN KEY ("by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "sample_key" ADD CONSTRAINT "sample_key_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "sample_key" ADD CONSTRAINT "sample_key_arm_id_arm_id_fk" FOREIGN KEY ("arm_id") REFERENCES "public"."arm"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "seal_leaf" ADD CONSTRAINT "seal_leaf_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "serving_key" ADD CONSTRAINT "serving_key_serving_id_serving_id_fk" FOREIGN KEY ("serving_id") REFERENCES "public"."serving"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "serving_key" ADD CONSTRAINT "serving_key_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "serving_key" ADD CONSTRAINT "serving_key_sample_id_sample_key_id_fk" FOREIGN KEY ("sample_id") REFERENCES "public"."sample_key"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "invitation" ADD CONSTRAINT "invitation_panel_id_panel_id_fk" FOREIGN KEY ("panel_id") REFERENCES "public"."panel"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "membership" ADD CONSTRAINT "membership_panel_id_panel_id_fk" FOREIGN KEY ("panel_id") REFERENCES "public"."panel"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "membership" ADD CONSTRAINT "membership_account_id_account_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."account"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "seat" ADD CONSTRAINT "seat_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "serving" ADD CONSTRAINT "serving_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "serving" ADD CONSTRAINT "serving_tray_id_tray_id_fk" FOREIGN KEY ("tray_id") REFERENCES "public"."tray"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "session" ADD CONSTRAINT "session_panel_id_panel_id_fk" FOREIGN KEY ("panel_id") REFERENCES "public"."panel"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "session" ADD CONSTRAINT "session_trial_id_trial_id_fk" FOREIGN KEY ("trial_id") REFERENCES "public"."trial"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "session_event" ADD CONSTRAINT "session_event_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "tray" ADD CONSTRAINT "tray_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "tray" ADD CONSTRAINT "tray_seat_id_seat_id_fk" FOREIGN KEY ("seat_id") REFERENCES "public"."seat"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "arm" ADD CONSTRAINT "arm_trial_id_trial_id_fk" FOREIGN KEY ("trial_id") REFERENCES "public"."trial"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "deviation" ADD CONSTRAINT "deviation_arm_id_arm_id_fk" FOREIGN KEY ("arm_id") REFERENCES "public"."arm"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "deviation" ADD CONSTRAINT "deviation_written_by_account_id_fk" FOREIGN KEY ("written_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "trial" ADD CONSTRAINT "trial_panel_id_panel_id_fk" FOREIGN KEY ("panel_id") REFERENCES "public"."panel"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
CREATE UNIQUE INDEX "account_name" ON "account" USING btree (lower("name"));--> statement-breakpoint
CREATE INDEX "signed_in_account" ON "signed_in" USING btree ("account_id");--> statement-breakpoint
CREATE INDEX "ballot_session" ON "ballot" USING btree ("session_id");--> statement-breakpoint
CREATE INDEX "pour_tick_session" ON "pour_tick" USING btree ("session_id");--> statement-breakpoint
CREATE INDEX "serving_key_session" ON "serving_key" USING btree ("session_id");--> statement-breakpoint
CREATE INDEX "membership_account" ON "membership" USING btree ("account_id");--> statement-breakpoint
CREATE INDEX "serving_session" ON "serving" USING btree ("session_id");--> statement-breakpoint
CREATE INDEX "session_panel" ON "session" USING btree ("panel_id");--> statement-breakpoint
CREATE INDEX "session_trial" ON "session" USING btree ("trial_id");--> statement-breakpoint
CREATE INDEX "deviation_arm" ON "deviation" USING btree ("arm_id");--> statement-breakpoint
CREATE INDEX "trial_panel" ON "trial" USING btree ("panel_id");