import { z } from 'zod';
import { id, moment, text, token } from './common.ts';

/** What somebody may do in a panel. The steward pours and holds the key; the host never sees it before the reveal. */
export const role = z.enum(['host', 'steward']);
export type Role = z.infer<typeof role>;

export const passphrase = z
  .string()
  .min(12, 'Use at least 12 characters; a few words are best.')
  .max(200, 'Keep this to 200 characters.');
export const accountName = text(60);

export const signInInput = z.object({
  name: accountName,
  passphrase: z.string().min(1, 'Fill this in.').max(200),
});
export type SignInInput = z.infer<typeof signInInput>;

export const firstHostInput = z.object({ token, panel: text(80), name: accountName, passphrase });
export type FirstHostInput = z.infer<typeof firstHostInput>;

export const acceptInvitationInput = z.object({ token, name: accountName, passphrase });
export type AcceptInvitationInput = z.infer<typeof acceptInvitationInput>;

export const changePassphraseInput = z.object({
  current: z.string().min(1, 'Fill this in.').max(200),
  next: passphrase,
});
export type ChangePassphraseInput = z.infer<typeof changePassphraseInput>;

export const panelMembership = z.object({ id, name: z.string(), role, demo: z.boolean() });

/** Who is signed in, and in which panels. */
export const actorView = z.object({ id, name: z.string(), panels: z.array(panelMembership) });
export type ActorView = z.infer<typeof actorView>;

/** What a stranger may know: is there anybody yet? */
export const serverState = z.object({ ok: z.literal(true), setUp: z.boolean(), version: z.string() });
export type ServerState = z.infer<typeof serverState>;

export const invitationInput = z.object({ role });
export type InvitationInput = z.infer<typeof invitationInput>;
/** The link is `<origin>/bench/invitation#<token>`; the token is shown once. */
export const invitationView = z.object({ token, role, expiresAt: moment });
export type InvitationView = z.infer<typeof invitationView>;
