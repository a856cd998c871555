import type { RankingPart } from '../../contracts/part.ts';
import { midRanks } from '../../stats/jstat.ts';
import { comparedSamples, type ComparedSamples } from '../common/compared-samples.ts';
import type { PartInput } from '../common/served.ts';

/** One tray put in order: per sample the mean rank of its cups, from 1 for least; null where the tray held none of it. */
export interface RankedTray {
  assessor: string;
  row: (number | null)[];
}

export interface RankingTable extends ComparedSamples {
  trays: RankedTray[];
  /** Every tray held every sample. */
  complete: boolean;
  /** One per person: mean ranks over their trays, in incomplete blocks less the middle rank of each tray; in a fixed order. */
  rows: (number | null)[][];
  /** People behind the rows. */
  assessors: number;
  /** Cups of one sample were averaged within a person. */
  averaged: boolean;
  /** Places between two cups of one sample in one order: which sample, how far, among how many cups. */
  twice: { place: number; apart: number; among: number }[];
  comments: string[];
}

/**
 * The orders given in a ranking. The warm-up is taken out of each order and the cups behind it move up; a sample with two cups
 * on a tray has the mean of their ranks; with several trays per person the mean over those that held the sample. So everybody
 * counts once: trays of one person hang together by what that person tastes, and are no further people. In incomplete blocks
 * a rank counts by how far it lies from the middle of its tray.
 * Errors: RangeError for an answer of another kind, or an order that does not hold the cups of its sheet.
 */
export function rankingTable({ samples, trays }: PartInput<RankingPart>): RankingTable {
  const compared = comparedSamples(samples, trays);
  const ranked: RankedTray[] = [];
  const twice: RankingTable['twice'] = [];
  const comments: string[] = [];
  let doubled = false;
  const inOrder = trays.toSorted(
    (a, b) => (a.assessor < b.assessor ? -1 : Number(a.assessor > b.assessor)) || a.replicate - b.replicate,
  );
  for (const { assessor, cups, sheets } of inOrder) {
    for (const { codes, answer, comment } of sheets) {
      if (answer === null) continue;
      if (answer.kind !== 'ranking') throw new RangeError(`a ranking is answered, not ${answer.kind}`);
      if (answer.order.length !== codes.length || !codes.every((code) => answer.order.includes(code))) {
        throw new RangeError('an order holds each cup of its sheet once');
      }
      const placesInOrder = answer.order.flatMap((code) => {
        const cup = cups.find((one) => one.code === code);
        if (!cup) throw new RangeError('an order names a cup that is not on its tray');
        const place = compared.placeOf(cup.sample);
        return place === null ? [] : [place];
      });
      const row = compared.samples.map((_sample, place) => {
        const ranks = placesInOrder.flatMap((at, index) => (at === place ? [index + 1] : []));
        const [first, second] = ranks;
        if (first === undefined) return null;
        if (second !== undefined) {
          doubled = true;
          twice.push({ place, apart: second - first, among: placesInOrder.length });
        }
        return ranks.reduce((sum, rank) => sum + rank, 0) / ranks.length;
      });
      ranked.push({ assessor, row });
      if (comment !== '') comments.push(comment);
    }
  }
  const complete = ranked.every(({ row }) => row.every((value) => value !== null));
  const people = Map.groupBy(ranked, ({ assessor }) => assessor);
  const rows = [...people.values()].map((own) =>
    compared.samples.map((_sample, place) => meanAt(own, place, complete)),
  );
  return {
    ...compared,
    trays: ranked,
    complete,
    rows,
    assessors: people.size,
    averaged: doubled || ranked.length > people.size,
    twice,
    // By wording, so that the order of rows tells nothing about seats.
    comments: comments.sort(),
  };
}

function meanAt(trays: readonly RankedTray[], place: number, complete: boolean): number | null {
  const own = trays.flatMap(({ row }) => {
    const rank = row[place];
    if (rank === null || rank === undefined) return [];
    const middle = (row.filter((value) => value !== null).length + 1) / 2;
    return [complete ? rank : rank - middle];
  });
  return own.length === 0 ? null : own.reduce((sum, rank) => sum + rank, 0) / own.length;
}

/** Ranks within one row, ties sharing the mean of their places; null where the row has no value. */
export function ranksOfRow(row: readonly (number | null)[]): (number | null)[] {
  const ranks = midRanks(row.filter((value) => value !== null));
  let next = 0;
  return row.map((value) => (value === null ? null : (ranks[next++] ?? null)));
}
