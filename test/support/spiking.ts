import type { LikingPart, SampleInput } from '@oddglass/shared/contracts/part.ts';
import type { PourView } from '@oddglass/shared/contracts/pour.ts';
import type { ProblemDocument } from '@oddglass/shared/contracts/problem.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import type { VocabularyView } from '@oddglass/shared/contracts/vocabulary.ts';
import { spikeCups, spikeText, type SpikeCup } from '@oddglass/shared/vocabulary/spike-cups.ts';
import { draft, firstHost, invited, newTrial, startServer, type Hosted, type TestServer } from './app.ts';

// A host with two stewards, and what is asked and done about spiked samples at their table.

export interface SpikingTable {
  server: TestServer;
  host: Hosted;
  steward: Hosted;
  second: Hosted;
  trial: TrialView;
}

let table: SpikingTable;

export async function openTable(): Promise<SpikingTable> {
  const server = await startServer();
  const host = await firstHost(server.app);
  const steward = await invited(host, 'steward', 'Stella');
  const second = await invited(host, 'steward', 'Sigrid');
  table = { server, host, steward, second, trial: await newTrial(host) };
  return table;
}

export const told: Partial<SampleInput> = { spikeAbv: 'none', spikeAllergens: [] };

export function liking(of: TrialView, ...spiked: Partial<SampleInput>[]): LikingPart {
  const arms = of.arms.map(({ id }): SampleInput => ({ armId: id, role: 'sample', spike: null }));
  return {
    kind: 'liking',
    cups: 'own',
    samples: [
      ...arms,
      ...spiked.map((facts): SampleInput => ({
        armId: arms[0]!.armId,
        role: 'spiked',
        spike: 'syrup',
        ...facts,
      })),
    ],
    replicates: 1,
    cupsEach: null,
    alpha: 0.05,
  };
}

export const planned = (part: LikingPart, of = table.trial, by = table.host): Promise<SessionView> =>
  draft(by, of, { assessors: 3, spareSeats: 0, parts: [part] });

export const send = (...spiked: Partial<SampleInput>[]) =>
  table.host.caller.call<ProblemDocument>('POST', `/api/trials/${table.trial.id}/sessions`, {
    title: 'An evening',
    assessors: 3,
    spareSeats: 0,
    cupMl: 40,
    restSeconds: 0,
    masking: false,
    servingNote: '',
    parts: [liking(table.trial, ...spiked)],
  });

export async function cupOf(id: string, own: number | null = null, by = table.host): Promise<SpikeCup> {
  const { vocabulary } = await by.caller.ok<VocabularyView>('GET', `/api/panels/${by.panel}/vocabulary`);
  return spikeCups(vocabulary).find(({ reference }) => reference.wordId === id && reference.own === own)!;
}

export const chosen = (cup: SpikeCup): Partial<SampleInput> => ({
  spike: spikeText(cup),
  spikeDose: cup.dose,
  spikeReference: cup.reference,
  spikeAllergens: cup.allergens ?? [],
});

export const pourOf = (session: SessionView, by = table.steward): Promise<PourView> =>
  by.caller.ok('GET', `/api/sessions/${session.id}/pour`);
export const spikedOf = (pour: PourView) => pour.samples.filter(({ spike }) => spike !== null);
export const eventsOf = async (session: SessionView): Promise<number> => {
  const { rows } = await table.server.database.pool.query<{ events: number }>(
    'select count(*)::int as events from session_event where session_id = $1',
    [session.id],
  );
  return rows[0]?.events ?? 0;
};
export const note = (session: SessionView, sampleId: string | undefined, by = table.steward) =>
  by.caller.call<ProblemDocument>('POST', `/api/sessions/${session.id}/pour/dilutions`, {
    sampleId,
    amount: '2.9 mL',
    volumeMl: 120,
  });
export const check = (
  session: SessionView,
  sampleId: string | undefined,
  by: string,
  who = table.steward,
  measurement?: number,
) =>
  pourOf(session).then((pour) =>
    who.caller.call<ProblemDocument>('POST', `/api/sessions/${session.id}/pour/dilutions/check`, {
      sampleId,
      measurement: measurement ?? pour.samples.find(({ id }) => id === sampleId)?.dilution?.measurement,
      by,
    }),
  );
export const tick = (session: SessionView, servingIds: string[], poured = true, by = table.steward) =>
  by.caller.call<ProblemDocument>('POST', `/api/sessions/${session.id}/pour/ticks`, { servingIds, poured });

/** Another panel of the same host, with one steward of its own. */
export async function firstPanel(name: string): Promise<{ host: Hosted; steward: Hosted }> {
  const { id } = await table.host.caller.ok<{ id: string }>('POST', '/api/panels', { name: 'A cellar' });
  const there = { caller: table.host.caller, panel: id };
  return { host: there, steward: await invited(there, 'steward', name) };
}

/** The only one with the key measures and goes on alone; `meanwhile` comes between the two. */
export async function diluteAlone(
  by: Hosted,
  session: Pick<SessionView, 'id'>,
  sampleId: string,
  meanwhile: () => Promise<void>,
): Promise<void> {
  const path = `/api/sessions/${session.id}/pour`;
  await by.caller.ok('POST', `${path}/dilutions`, { sampleId, amount: '2 g', volumeMl: 500 });
  await meanwhile();
  const { samples } = await by.caller.ok<PourView>('GET', path);
  const measurement = samples.find(({ id }) => id === sampleId)?.dilution?.measurement;
  await by.caller.ok('POST', `${path}/dilutions/check`, { sampleId, measurement, by: 'alone' });
}
