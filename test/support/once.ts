/**
 * Made by the first who asks, and kept. For what several tests look at: made while tests are collected it would count as run
 * by each of them, and a run of mutants would go through all tests for every line of it.
 */
export function once<T>(make: () => T): () => T {
  let kept: { made: T } | null = null;
  return () => {
    kept ??= { made: make() };
    return kept.made;
  };
}
