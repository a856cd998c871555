CREATE TABLE "paper_desk" (
	"id" uuid PRIMARY KEY NOT NULL,
	"session_id" uuid NOT NULL,
	"link_hash" text,
	"link_until" timestamp with time zone NOT NULL,
	"made_by" uuid,
	"token_hash" text,
	"keeper" text,
	"opened_at" timestamp with time zone,
	CONSTRAINT "paper_desk_link_hash_unique" UNIQUE("link_hash"),
	CONSTRAINT "paper_desk_token_hash_unique" UNIQUE("token_hash")
);
--> statement-breakpoint
CREATE TABLE "paper_entry" (
	"id" uuid PRIMARY KEY NOT NULL,
	"session_id" uuid NOT NULL,
	"seat_id" uuid NOT NULL,
	"desk_id" uuid NOT NULL,
	"number" integer NOT NULL,
	"step" text NOT NULL,
	"values" jsonb NOT NULL,
	"entered_at" timestamp with time zone NOT NULL,
	CONSTRAINT "paper_entry_number" UNIQUE("seat_id","number")
);
--> statement-breakpoint
ALTER TABLE "ballot" ADD COLUMN "paper_entry_id" uuid;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "on_paper" boolean DEFAULT false NOT NULL;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "slip_hash" text;--> statement-breakpoint
ALTER TABLE "paper_desk" ADD CONSTRAINT "paper_desk_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "paper_desk" ADD CONSTRAINT "paper_desk_made_by_account_id_fk" FOREIGN KEY ("made_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "paper_entry" ADD CONSTRAINT "paper_entry_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "paper_entry" ADD CONSTRAINT "paper_entry_seat_id_seat_id_fk" FOREIGN KEY ("seat_id") REFERENCES "public"."seat"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "paper_entry" ADD CONSTRAINT "paper_entry_desk_id_paper_desk_id_fk" FOREIGN KEY ("desk_id") REFERENCES "public"."paper_desk"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "paper_desk_session" ON "paper_desk" USING btree ("session_id");--> statement-breakpoint
ALTER TABLE "ballot" ADD CONSTRAINT "ballot_paper_entry_id_paper_entry_id_fk" FOREIGN KEY ("paper_entry_id") REFERENCES "public"."paper_entry"("id") ON DELETE no action ON UPDATE no action;