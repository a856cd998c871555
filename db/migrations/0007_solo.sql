CREATE TABLE "solo_answer" (
	"id" uuid PRIMARY KEY NOT NULL,
	"series_id" uuid NOT NULL,
	"tray" integer NOT NULL,
	"answer" jsonb NOT NULL,
	"hash" text NOT NULL,
	"at" timestamp with time zone NOT NULL,
	CONSTRAINT "solo_answer_tray" UNIQUE("series_id","tray")
);
--> statement-breakpoint
CREATE TABLE "solo_lock" (
	"id" uuid PRIMARY KEY NOT NULL,
	"series_id" uuid NOT NULL,
	"tray" integer,
	"hash" text NOT NULL,
	"at" timestamp with time zone NOT NULL,
	CONSTRAINT "solo_lock_once" UNIQUE NULLS NOT DISTINCT("series_id","tray"),
	CONSTRAINT "solo_lock_of_series" UNIQUE("id","series_id")
);
--> statement-breakpoint
CREATE TABLE "solo_moment" (
	"series_id" uuid NOT NULL,
	"kind" text NOT NULL,
	"note" text NOT NULL,
	"at" timestamp with time zone NOT NULL,
	CONSTRAINT "solo_moment_series_id_kind_pk" PRIMARY KEY("series_id","kind")
);
--> statement-breakpoint
CREATE TABLE "solo_series" (
	"id" uuid PRIMARY KEY NOT NULL,
	"trial_id" uuid NOT NULL,
	"account_id" uuid,
	"settings" jsonb NOT NULL,
	"plan" jsonb NOT NULL,
	"root" text NOT NULL,
	"sealed_at" timestamp with time zone NOT NULL
);
--> statement-breakpoint
CREATE TABLE "solo_stood" (
	"id" uuid PRIMARY KEY NOT NULL,
	"series_id" uuid NOT NULL,
	"tray" integer NOT NULL,
	"lock_id" uuid NOT NULL,
	"arm_ids" uuid[] NOT NULL,
	"as_planned" boolean NOT NULL,
	"replaces" uuid,
	"written_by" uuid,
	"written_at" timestamp with time zone NOT NULL,
	CONSTRAINT "solo_stood_first" UNIQUE NULLS NOT DISTINCT("series_id","tray","replaces"),
	CONSTRAINT "solo_stood_put_right_once" UNIQUE("replaces")
);
--> statement-breakpoint
ALTER TABLE "solo_answer" ADD CONSTRAINT "solo_answer_series_id_solo_series_id_fk" FOREIGN KEY ("series_id") REFERENCES "public"."solo_series"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "solo_lock" ADD CONSTRAINT "solo_lock_series_id_solo_series_id_fk" FOREIGN KEY ("series_id") REFERENCES "public"."solo_series"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "solo_moment" ADD CONSTRAINT "solo_moment_series_id_solo_series_id_fk" FOREIGN KEY ("series_id") REFERENCES "public"."solo_series"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "solo_series" ADD CONSTRAINT "solo_series_trial_id_trial_id_fk" FOREIGN KEY ("trial_id") REFERENCES "public"."trial"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "solo_series" ADD CONSTRAINT "solo_series_account_id_account_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "solo_stood" ADD CONSTRAINT "solo_stood_replaces_solo_stood_id_fk" FOREIGN KEY ("replaces") REFERENCES "public"."solo_stood"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "solo_stood" ADD CONSTRAINT "solo_stood_written_by_account_id_fk" FOREIGN KEY ("written_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "solo_stood" ADD CONSTRAINT "solo_stood_answer" FOREIGN KEY ("series_id","tray") REFERENCES "public"."solo_answer"("series_id","tray") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "solo_stood" ADD CONSTRAINT "solo_stood_lock" FOREIGN KEY ("lock_id","series_id") REFERENCES "public"."solo_lock"("id","series_id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "solo_series_trial" ON "solo_series" USING btree ("trial_id");