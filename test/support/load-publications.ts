import type { Part } from '@oddglass/shared/contracts/part.ts';
import type { PublicationView } from '@oddglass/shared/contracts/publishing.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { foundFit, trialInput } from './factories.ts';
import { playFaultSession, type FaultHost } from './fault-client.ts';

/** A published session of 8 samples by 6 attributes by 100 people: its id, and what readers ask for. */
export async function ratingPublished(
  hosted: FaultHost,
  at: string,
): Promise<{ session: string; urls: string[] }> {
  const { host } = hosted;
  const names = ['Alder', 'Birch', 'Cedar', 'Dogwood', 'Elder', 'Fir', 'Gorse', 'Hazel'];
  const trial = await host.ask<TrialView>('POST', `/api/panels/${hosted.panel}/trials`, {
    ...trialInput(),
    arms: names.map((name) => ({
      name,
      differs: `aged on ${name.toLowerCase()}`,
      volumeMl: 90_000,
      abv: 4.1,
      allergens: [],
    })),
  });
  await foundFit((method, path, body) => host.ask(method, path, body), trial);
  const arms = trial.arms.map(({ id }) => id);
  const rating: Part = {
    kind: 'rating',
    cups: 'own',
    samples: arms.map((armId) => ({ armId, role: 'sample', spike: null })),
    replicates: 1,
    cupsEach: null,
    alpha: 0.05,
    attributes: ['sour', 'bitter', 'fruity', 'body', 'length', 'roast'].map((id) => ({
      id,
      name: id,
      low: 'none',
      high: 'strong',
    })),
    scale: 'line',
    by: 'sample',
    returning: false,
  };
  const session = await playFaultSession({ ...hosted, trial }, [rating], 100, ({ codes, attributeIds }) => ({
    kind: 'rating',
    marks: codes.flatMap((code) =>
      attributeIds.map((attributeId) => ({ code, attributeId, value: Math.round(Math.random() * 100) })),
    ),
  }));
  const { address } = await host.ask<PublicationView>('POST', `/api/trials/${trial.id}/publications`, {
    sessionIds: [session],
    title: 'An invented rating',
    licence: 'CC-BY-4.0',
    armNames: Object.fromEntries(trial.arms.map(({ id, name }) => [id, name])),
    comments: [],
    caveatAnswers: [],
    agreeSmall: false,
    listed: true,
  });
  const page = `${at}/p/${address}`;
  const urls = [
    page,
    page,
    `${page}/picture.png`,
    `${at}/api/p/${address}`,
    `${at}/api/p/${address}/package.zip`,
  ];
  return { session, urls };
}
