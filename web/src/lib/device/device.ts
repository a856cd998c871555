/** Keeps the screen on while the page is seen, where the browser offers it (not on plain http). */
export function keepAwake(): () => void {
  let lock: WakeLockSentinel | undefined;
  let over = false;
  const ask = async (): Promise<void> => {
    if (over || document.visibilityState !== 'visible' || !('wakeLock' in navigator)) return;
    try {
      lock = await navigator.wakeLock.request('screen');
      if (over) await lock.release();
    } catch {
      // Refused, for example on low battery: the tablet may sleep, and nothing is lost by it.
    }
  };
  const onVisible = (): void => void ask();
  document.addEventListener('visibilitychange', onVisible);
  void ask();
  return () => {
    over = true;
    document.removeEventListener('visibilitychange', onVisible);
    void lock?.release().catch(() => undefined);
  };
}

// A request that hangs on a dying network is given up and tried again.
const PATIENCE_MS = 15_000;

export const fetchWithTimeout: typeof fetch = (input, init) =>
  fetch(input, { ...init, signal: AbortSignal.timeout(PATIENCE_MS) });
