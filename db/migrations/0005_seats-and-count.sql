ALTER TABLE "ballot" ADD COLUMN "holder" integer DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "holder" integer DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "move_hash" text;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "move_until" timestamp with time zone;--> statement-breakpoint
ALTER TABLE "seat" ADD COLUMN "move_by" text;--> statement-breakpoint
ALTER TABLE "seat" ADD CONSTRAINT "seat_move_hash_unique" UNIQUE("move_hash");