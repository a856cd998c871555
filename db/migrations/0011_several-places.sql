CREATE TABLE "site_away" (
	"session_id" uuid NOT NULL,
	"site" integer NOT NULL,
	"secret" text NOT NULL,
	"by" uuid,
	"made_at" timestamp with time zone NOT NULL,
	"joined_at" timestamp with time zone,
	"digest" text,
	"facts" jsonb,
	CONSTRAINT "site_away_session_id_site_pk" PRIMARY KEY("session_id","site")
);
--> statement-breakpoint
CREATE TABLE "site_home" (
	"session_id" uuid PRIMARY KEY NOT NULL,
	"secret" text NOT NULL,
	"arms" jsonb NOT NULL
);
--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "guest" jsonb;--> statement-breakpoint
ALTER TABLE "site_away" ADD CONSTRAINT "site_away_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "site_away" ADD CONSTRAINT "site_away_by_account_id_fk" FOREIGN KEY ("by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "site_home" ADD CONSTRAINT "site_home_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;