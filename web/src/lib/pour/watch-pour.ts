const EVERY_MS = 4000;

/** Calls `onNews` whenever the pour list may have changed elsewhere; returns how to stop. */
export function watchPour(_session: string, onNews: () => void): () => void {
  const look = (): void => {
    if (document.visibilityState === 'visible') onNews();
  };
  const timer = setInterval(look, EVERY_MS);
  document.addEventListener('visibilitychange', look);
  return () => {
    clearInterval(timer);
    document.removeEventListener('visibilitychange', look);
  };
}
