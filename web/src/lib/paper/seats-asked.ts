import type { PaperAsked } from '#lib/api/paper.ts';

/** Which ballots an address asks for; what is no seat says nothing. */
export function seatsAsked(params: { get(name: string): string | null }): PaperAsked {
  const seat = (name: string): number | undefined => {
    const typed = params.get(name) ?? '';
    return /^[1-9]\d{0,2}$/.test(typed) && Number(typed) <= 400 ? Number(typed) : undefined;
  };
  const [from, to] = [seat('from'), seat('to')];
  return {
    ...(from !== undefined && { from }),
    ...(to !== undefined && { to }),
    ...(params.get('words') === 'yes' && { words: 'yes' as const }),
  };
}
