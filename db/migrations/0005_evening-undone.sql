CREATE TABLE "answer_leaf" (
	"session_id" uuid NOT NULL,
	"index" integer NOT NULL,
	"seat_id" uuid NOT NULL,
	"nonce" text,
	"hash" text NOT NULL,
	CONSTRAINT "answer_leaf_session_id_index_pk" PRIMARY KEY("session_id","index"),
	CONSTRAINT "answer_leaf_seat_id_unique" UNIQUE("seat_id")
);
--> statement-breakpoint
CREATE TABLE "key_opening" (
	"session_id" uuid NOT NULL,
	"account_id" uuid NOT NULL,
	"at" timestamp with time zone NOT NULL,
	"invited_since_sealing" boolean NOT NULL,
	CONSTRAINT "key_opening_session_id_account_id_pk" PRIMARY KEY("session_id","account_id")
);
--> statement-breakpoint
ALTER TABLE "ballot" ADD COLUMN "holder" integer DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE "invitation" ADD COLUMN "id" uuid DEFAULT gen_random_uuid() NOT NULL;--> statement-breakpoint
ALTER TABLE "invitation" ADD COLUMN "invited_by" uuid;--> statement-breakpoint
ALTER TABLE "membership" ADD COLUMN "joined_at" timestamp with time zone;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "holder" integer DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "move_hash" text;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "move_until" timestamp with time zone;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "move_by" text;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "device_hash" text;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "answers_root" text;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "reveal_record" jsonb;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "key_watched" boolean DEFAULT false NOT NULL;--> statement-breakpoint
ALTER TABLE "answer_leaf" ADD CONSTRAINT "answer_leaf_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "answer_leaf" ADD CONSTRAINT "answer_leaf_seat_id_seat_id_fk" FOREIGN KEY ("seat_id") REFERENCES "public"."seat"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "key_opening" ADD CONSTRAINT "key_opening_session_id_session_id_fk" FOREIGN KEY ("session_id") REFERENCES "public"."session"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "key_opening" ADD CONSTRAINT "key_opening_account_id_account_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."account"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "invitation" ADD CONSTRAINT "invitation_invited_by_account_id_fk" FOREIGN KEY ("invited_by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "invitation" ADD CONSTRAINT "invitation_id_unique" UNIQUE("id");--> statement-breakpoint
ALTER TABLE "seat" ADD CONSTRAINT "seat_move_hash_unique" UNIQUE("move_hash");