// The part of jstat that shared/stats/jstat.ts calls; the package ships no types.
declare module 'jstat' {
  const jstat: {
    beta: { inv(p: number, alpha: number, beta: number): number };
    rank(values: readonly number[]): number[];
    median(values: readonly number[]): number;
  };
  export default jstat;
}
