/** Seats whose ballots an address asks for, from one number to another; what is no seat says nothing. */
export function seatsAsked(params: { get(name: string): string | null }): { from?: number; to?: number } {
  const seat = (name: string): number | undefined => {
    const typed = params.get(name) ?? '';
    return /^[1-9]\d{0,2}$/.test(typed) && Number(typed) <= 400 ? Number(typed) : undefined;
  };
  const [from, to] = [seat('from'), seat('to')];
  return { ...(from !== undefined && { from }), ...(to !== undefined && { to }) };
}
