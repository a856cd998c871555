CREATE TABLE "publication" (
	"id" uuid PRIMARY KEY NOT NULL,
	"panel_id" uuid NOT NULL,
	"trial_id" uuid NOT NULL,
	"address" text NOT NULL,
	"listed" boolean NOT NULL,
	"created_at" timestamp with time zone NOT NULL,
	"withdrawn_at" timestamp with time zone,
	CONSTRAINT "publication_address" UNIQUE("address")
);
--> statement-breakpoint
CREATE TABLE "publication_version" (
	"publication_id" uuid NOT NULL,
	"version" integer NOT NULL,
	"published_at" timestamp with time zone NOT NULL,
	"published_on" date NOT NULL,
	"etag" text NOT NULL,
	"title" text NOT NULL,
	"panel" text NOT NULL,
	"headline" text NOT NULL,
	"licence" text NOT NULL,
	"demo" boolean NOT NULL,
	"choices" jsonb NOT NULL,
	"withdrawn" jsonb NOT NULL,
	"result" text NOT NULL,
	"citation" text,
	"package" "bytea",
	CONSTRAINT "publication_version_publication_id_version_pk" PRIMARY KEY("publication_id","version")
);
--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "consent_rows" boolean;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "consent_small_group" boolean;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "consent_at" timestamp with time zone;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "receipt_hash" text;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "withdrawn_at" timestamp with time zone;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "withdrawn_ballots" integer;--> statement-breakpoint
ALTER TABLE "publication" ADD CONSTRAINT "publication_panel_id_panel_id_fk" FOREIGN KEY ("panel_id") REFERENCES "public"."panel"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "publication" ADD CONSTRAINT "publication_trial_id_trial_id_fk" FOREIGN KEY ("trial_id") REFERENCES "public"."trial"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "publication_version" ADD CONSTRAINT "publication_version_publication_id_publication_id_fk" FOREIGN KEY ("publication_id") REFERENCES "public"."publication"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "publication_trial" ON "publication" USING btree ("trial_id");--> statement-breakpoint
CREATE INDEX "publication_panel" ON "publication" USING btree ("panel_id");--> statement-breakpoint
ALTER TABLE "seat" ADD CONSTRAINT "seat_receipt_hash_unique" UNIQUE("receipt_hash");