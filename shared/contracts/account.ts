import { z } from 'zod';
import { id, moment, text, token } from './common.ts';
import { name } from './name.ts';

/** What somebody may do in a panel. The steward pours and holds the key; the host never sees it before the reveal. */
export const role = z.enum(['host', 'steward']);
export type Role = z.infer<typeof role>;

export const passphrase = z
  .string()
  .min(12, 'Use at least 12 characters; a few words are best.')
  .max(200, 'Keep this to 200 characters.');
/** Names given before there were rules for them still sign in. */
const knownName = text(60);
export const accountName = name(60);

export const signInInput = z.object({
  name: knownName,
  passphrase: z.string().min(1, 'Fill this in.').max(200),
});
export type SignInInput = z.infer<typeof signInInput>;

export const firstHostInput = z.object({ token, panel: name(80), name: accountName, passphrase });
export type FirstHostInput = z.infer<typeof firstHostInput>;

export const acceptInvitationInput = z.object({ token, name: accountName, passphrase });
export type AcceptInvitationInput = z.infer<typeof acceptInvitationInput>;

export const changePassphraseInput = z.object({
  current: z.string().min(1, 'Fill this in.').max(200),
  next: passphrase,
});
export type ChangePassphraseInput = z.infer<typeof changePassphraseInput>;

/** A new passphrase for somebody who forgot theirs, by a link from whoever runs the machine. */
export const forgottenPassphraseInput = z.object({ token, passphrase });
export type ForgottenPassphraseInput = z.infer<typeof forgottenPassphraseInput>;

/** What a sign-in was opened with, last; a passkey or a recovery code come after the passphrase. */
export const signInWay = z.enum(['passphrase', 'passkey', 'recovery-code', 'link']);
export type SignInWay = z.infer<typeof signInWay>;

/** One browser in which somebody is signed in. */
export const signInView = z.object({
  id,
  /** Browser and system in a few words; empty when they are not known. */
  device: z.string(),
  by: signInWay,
  createdAt: moment,
  /** To within some minutes. */
  lastUsedAt: moment,
  /** When it ends by itself if it is not used any more. */
  endsAt: moment,
  /** It is the one that asks. */
  here: z.boolean(),
});
export type SignInView = z.infer<typeof signInView>;
/** The one that asks first, then by last use. */
export const signInViews = z.object({ signIns: z.array(signInView) });
export type SignInViews = z.infer<typeof signInViews>;

export const panelMembership = z.object({ id, name: z.string(), role, demo: z.boolean() });

/** Who is signed in, and in which panels. */
export const actorView = z.object({ id, name: z.string(), panels: z.array(panelMembership) });
export type ActorView = z.infer<typeof actorView>;

/** What a stranger may know: is there anybody yet? */
export const serverState = z.object({ ok: z.literal(true), setUp: z.boolean(), version: z.string() });
export type ServerState = z.infer<typeof serverState>;

export const invitationInput = z.object({ role });
export type InvitationInput = z.infer<typeof invitationInput>;
/** Takes an invitation with the account that is signed in. */
export const joinPanelInput = z.object({ token });
export type JoinPanelInput = z.infer<typeof joinPanelInput>;
/** Invitations that still let somebody in, newest first. */
export const openInvitations = z.object({
  invitations: z.array(
    z.object({
      id,
      role,
      /** Null: not written down. */
      invitedBy: z.string().nullable(),
      createdAt: moment,
      expiresAt: moment,
    }),
  ),
});
export type OpenInvitations = z.infer<typeof openInvitations>;
/** The link is `<origin>/bench/invitation#<token>`; the token is shown once. */
export const invitationView = z.object({ token, role, expiresAt: moment });
export type InvitationView = z.infer<typeof invitationView>;
