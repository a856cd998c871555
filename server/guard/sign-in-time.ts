import type { SignInTime } from '@oddglass/db/queries/signed-in.ts';

const DAY_MS = 86_400_000;

/** How long a sign-in lasts. */
export interface SignInLasts {
  /** At most, however much it is used. */
  days: number;
  /** Without being used. */
  idleDays: number;
}

export const SIGN_IN_LASTS: SignInLasts = { days: 14, idleDays: 3 };

/** Which sign-ins hold at this moment. */
export function signInTime({ idleDays }: SignInLasts, now: Date): SignInTime {
  return { now, idleSince: new Date(now.getTime() - idleDays * DAY_MS) };
}

/** When one that begins now ends for good. */
export function signInEnd({ days }: SignInLasts, now: Date): Date {
  return new Date(now.getTime() + days * DAY_MS);
}

/** When one ends by itself if it is not used any more. */
export function endsUnused({ idleDays }: SignInLasts, lastUsedAt: Date, expiresAt: Date): Date {
  return new Date(Math.min(lastUsedAt.getTime() + idleDays * DAY_MS, expiresAt.getTime()));
}
