import {
  actorView,
  invitationView,
  openInvitations,
  serverState,
  signInViews,
  type AcceptInvitationInput,
  type ChangePassphraseInput,
  type FirstHostInput,
  type ForgottenPassphraseInput,
  type InvitationInput,
  type JoinPanelInput,
  type SignInInput,
} from '@oddglass/shared/contracts/account.ts';
import { done } from '@oddglass/shared/contracts/common.ts';
import { secondFactorAsked } from '@oddglass/shared/contracts/passkey.ts';
import { panelView, type PanelInput } from '@oddglass/shared/contracts/panel.ts';
import { call, type Fetch } from './client.ts';

/** Signed in, or asked for a second factor. */
const signInAnswer = actorView.or(secondFactorAsked);

export const getServerState = (fetch: Fetch) => call({ fetch, path: '/api/health', answer: serverState });
export const getActor = (fetch: Fetch) => call({ fetch, path: '/api/me', answer: actorView });
export const signIn = (fetch: Fetch, body: SignInInput) =>
  call({ fetch, method: 'POST', path: '/api/sign-in', answer: signInAnswer, body });
export const signOut = (fetch: Fetch) =>
  call({ fetch, method: 'POST', path: '/api/sign-out', answer: done, body: {} });
export const createFirstHost = (fetch: Fetch, body: FirstHostInput) =>
  call({ fetch, method: 'POST', path: '/api/first-host', answer: actorView, body });
export const acceptInvitation = (fetch: Fetch, body: AcceptInvitationInput) =>
  call({ fetch, method: 'POST', path: '/api/invitations/accept', answer: actorView, body });
export const changePassphrase = (fetch: Fetch, body: ChangePassphraseInput) =>
  call({ fetch, method: 'POST', path: '/api/me/passphrase', answer: done, body });
/** A new passphrase by a link from whoever runs the machine. */
export const replacePassphrase = (fetch: Fetch, body: ForgottenPassphraseInput) =>
  call({ fetch, method: 'POST', path: '/api/passphrase', answer: actorView, body });
export const getSignIns = (fetch: Fetch) => call({ fetch, path: '/api/me/sign-ins', answer: signInViews });
/** Ends one of one's own sign-ins; what is left comes back. */
export const endSignIn = (fetch: Fetch, id: string) =>
  call({ fetch, method: 'DELETE', path: `/api/me/sign-ins/${id}`, answer: signInViews });
export const createPanel = (fetch: Fetch, body: PanelInput) =>
  call({ fetch, method: 'POST', path: '/api/panels', answer: panelView, body });
/** Fills a demo panel with the invented scenario. */
export const createDemoPanel = (fetch: Fetch) =>
  call({ fetch, method: 'POST', path: '/api/panels/demo', answer: panelView, body: {} });
export const getPanel = (fetch: Fetch, panel: string) =>
  call({ fetch, path: `/api/panels/${panel}`, answer: panelView });
export const invite = (fetch: Fetch, panel: string, body: InvitationInput) =>
  call({ fetch, method: 'POST', path: `/api/panels/${panel}/invitations`, answer: invitationView, body });
/** Invitations that still let somebody in. */
export const getInvitations = (fetch: Fetch, panel: string) =>
  call({ fetch, path: `/api/panels/${panel}/invitations`, answer: openInvitations });
/** Ends one that nobody has taken; what is left comes back. */
export const revokeInvitation = (fetch: Fetch, panel: string, id: string) =>
  call({
    fetch,
    method: 'DELETE',
    path: `/api/panels/${panel}/invitations/${id}`,
    answer: openInvitations,
  });
/** Takes an invitation with the account that is signed in. */
export const joinPanel = (fetch: Fetch, body: JoinPanelInput) =>
  call({ fetch, method: 'POST', path: '/api/invitations/join', answer: actorView, body });
export const removeMember = (fetch: Fetch, panel: string, member: string) =>
  call({ fetch, method: 'DELETE', path: `/api/panels/${panel}/members/${member}`, answer: done });
