-- Until here every session was one triangle test: each becomes a session of one part, answered on one sheet a tray.
CREATE TABLE "vocabulary_change" (
	"panel_id" uuid NOT NULL,
	"version" integer NOT NULL,
	"change" jsonb NOT NULL,
	"by" uuid,
	"at" timestamp with time zone NOT NULL,
	CONSTRAINT "vocabulary_change_panel_id_version_pk" PRIMARY KEY("panel_id","version")
);
--> statement-breakpoint
ALTER TABLE "ballot" DROP CONSTRAINT "ballot_tray";--> statement-breakpoint
ALTER TABLE "tray" DROP CONSTRAINT "tray_replicate";--> statement-breakpoint
ALTER TABLE "ballot" DROP CONSTRAINT "ballot_odd_serving_id_serving_id_fk";
--> statement-breakpoint
ALTER TABLE "ballot" ADD COLUMN "part" integer NOT NULL DEFAULT 1;--> statement-breakpoint
ALTER TABLE "ballot" ALTER COLUMN "part" DROP DEFAULT;--> statement-breakpoint
ALTER TABLE "ballot" ADD COLUMN "sheet" integer NOT NULL DEFAULT 1;--> statement-breakpoint
ALTER TABLE "ballot" ALTER COLUMN "sheet" DROP DEFAULT;--> statement-breakpoint
ALTER TABLE "ballot" ADD COLUMN "answer" jsonb;--> statement-breakpoint
UPDATE "ballot" SET "answer" = jsonb_build_object(
  'kind', 'choice',
  'chosen', jsonb_build_array((SELECT "code" FROM "serving" WHERE "serving"."id" = "ballot"."odd_serving_id")),
  'confidence', "confidence",
  'descriptors', to_jsonb("descriptors"));--> statement-breakpoint
ALTER TABLE "ballot" ALTER COLUMN "answer" SET NOT NULL;--> statement-breakpoint
ALTER TABLE "sample_key" ADD COLUMN "part" integer NOT NULL DEFAULT 1;--> statement-breakpoint
ALTER TABLE "sample_key" ALTER COLUMN "part" DROP DEFAULT;--> statement-breakpoint
ALTER TABLE "sample_key" ADD COLUMN "place" integer;--> statement-breakpoint
UPDATE "sample_key" SET "place" = CASE
  WHEN (SELECT "settings" -> 'armIds' ->> 0 FROM "session" WHERE "session"."id" = "sample_key"."session_id") = "arm_id"::text THEN 0 ELSE 1 END;--> statement-breakpoint
ALTER TABLE "sample_key" ALTER COLUMN "place" SET NOT NULL;--> statement-breakpoint
ALTER TABLE "sample_key" ADD COLUMN "role" text NOT NULL DEFAULT 'sample';--> statement-breakpoint
ALTER TABLE "sample_key" ALTER COLUMN "role" DROP DEFAULT;--> statement-breakpoint
ALTER TABLE "sample_key" ADD COLUMN "spike" text;--> statement-breakpoint
ALTER TABLE "sample_key" ADD COLUMN "control" text;--> statement-breakpoint
ALTER TABLE "serving" ADD COLUMN "mark" text;--> statement-breakpoint
ALTER TABLE "session" ADD COLUMN "vocabulary_version" integer;--> statement-breakpoint
ALTER TABLE "tray" ADD COLUMN "number" integer;--> statement-breakpoint
UPDATE "tray" SET "number" = "replicate";--> statement-breakpoint
ALTER TABLE "tray" ALTER COLUMN "number" SET NOT NULL;--> statement-breakpoint
ALTER TABLE "tray" ADD COLUMN "part" integer NOT NULL DEFAULT 1;--> statement-breakpoint
ALTER TABLE "tray" ALTER COLUMN "part" DROP DEFAULT;--> statement-breakpoint
ALTER TABLE "vocabulary_change" ADD CONSTRAINT "vocabulary_change_panel_id_panel_id_fk" FOREIGN KEY ("panel_id") REFERENCES "public"."panel"("id") ON DELETE cascade ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "vocabulary_change" ADD CONSTRAINT "vocabulary_change_by_account_id_fk" FOREIGN KEY ("by") REFERENCES "public"."account"("id") ON DELETE set null ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "ballot" DROP COLUMN "odd_serving_id";--> statement-breakpoint
ALTER TABLE "ballot" DROP COLUMN "confidence";--> statement-breakpoint
ALTER TABLE "ballot" DROP COLUMN "descriptors";--> statement-breakpoint
ALTER TABLE "session" DROP COLUMN "kind";--> statement-breakpoint
UPDATE "session" SET "settings" =
  "settings" - ARRAY['kind', 'armIds', 'replicates', 'alpha', 'aim', 'meaningfulShare', 'beta']
  || jsonb_build_object('parts', jsonb_build_array(jsonb_build_object(
    'kind', 'triangle',
    'armIds', "settings" -> 'armIds',
    'replicates', "settings" -> 'replicates',
    'alpha', "settings" -> 'alpha',
    'aim', "settings" -> 'aim',
    'meaningfulShare', "settings" -> 'meaningfulShare',
    'beta', "settings" -> 'beta')));--> statement-breakpoint
UPDATE "session" SET "vocabulary_version" = 0 WHERE "state" <> 'draft';--> statement-breakpoint
UPDATE "seat" SET "progress" = "progress" - 'replicate'
  || jsonb_build_object('trayNumber', "progress" -> 'replicate', 'part', 1, 'sheet', 1)
  WHERE "progress" IS NOT NULL;--> statement-breakpoint
UPDATE "session_event" SET "event" = "event" - 'replicate' || jsonb_build_object('trayNumber', "event" -> 'replicate')
  WHERE "event" ? 'replicate';--> statement-breakpoint
UPDATE "session_event" SET "event" = "event" || '{"part": 1, "sheet": 1}'
  WHERE "event" ->> 'kind' = 'ballot-received';--> statement-breakpoint
ALTER TABLE "ballot" ADD CONSTRAINT "ballot_sheet" UNIQUE("tray_id","part","sheet");--> statement-breakpoint
ALTER TABLE "tray" ADD CONSTRAINT "tray_number" UNIQUE("seat_id","number");--> statement-breakpoint
ALTER TABLE "tray" ADD CONSTRAINT "tray_replicate" UNIQUE("seat_id","part","replicate");