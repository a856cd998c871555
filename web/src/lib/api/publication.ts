import {
  publicationView,
  publicationViews,
  publicList,
  publishedView,
  publishPreview,
  type PublishDraft,
  type PublishedView,
  type PublishInput,
  type PublishNew,
} from '@oddglass/shared/contracts/publishing.ts';
import { problemDocument } from '@oddglass/shared/contracts/problem.ts';
import { ApiProblem, call, NoAnswer, type Fetch } from './client.ts';

export const previewPublication = (fetch: Fetch, trial: string, body: PublishDraft) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/trials/${trial}/publications/preview`,
    answer: publishPreview,
    body,
  });
export const publish = (fetch: Fetch, trial: string, body: PublishNew) =>
  call({ fetch, method: 'POST', path: `/api/trials/${trial}/publications`, answer: publicationView, body });
export const publishVersion = (fetch: Fetch, publication: string, body: PublishInput) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/publications/${publication}/versions`,
    answer: publicationView,
    body,
  });
export const withdrawPublication = (fetch: Fetch, publication: string) =>
  call({
    fetch,
    method: 'POST',
    path: `/api/publications/${publication}/withdraw`,
    answer: publicationView,
    body: {},
  });
export const getPublications = (fetch: Fetch, trial: string) =>
  call({ fetch, path: `/api/trials/${trial}/publications`, answer: publicationViews });
export const getPublicList = (fetch: Fetch, panel: string) =>
  call({ fetch, path: `/api/p/list/${panel}`, answer: publicList });

/** What a reader gets. A withdrawn publication is an answer too, although it comes with status 410. */
export async function getPublished(fetch: Fetch, address: string, query = ''): Promise<PublishedView> {
  let response: Response;
  let content: unknown;
  try {
    response = await fetch(`/api/p/${address}${query}`, { headers: { accept: 'application/json' } });
    content = await response.json();
  } catch (cause) {
    throw new NoAnswer('The server did not answer.', { cause });
  }
  const view = publishedView.safeParse(content);
  if (view.success) return view.data;
  const problem = problemDocument.safeParse(content);
  if (problem.success) throw new ApiProblem(problem.data);
  throw new NoAnswer(`The server answered ${response.status} without a reason.`);
}
