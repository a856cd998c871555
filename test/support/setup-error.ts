const NAME = 'TEST_SETUP_ERROR';

/**
 * Runs what has to be there before the tests, and leaves the reason for the reporter when it fails: vitest ends such a
 * run without telling its reporters why. It calls both in one process, but loads them apart, so the reason travels in
 * the environment.
 */
export async function settingUp<T>(setup: () => T | Promise<T>): Promise<T> {
  try {
    return await setup();
  } catch (error) {
    process.env[NAME] = error instanceof Error ? error.message : String(error);
    throw error;
  }
}

export function setupError(): string | undefined {
  return process.env[NAME];
}
