declare global {
  interface Window {
    /** The button that was tapped before the page ran, by the script of app.html. */
    earlyTap?: HTMLElement;
  }
}

/** The page runs from here on. A button that was tapped before, and still stands there, is tapped now. */
export function giveEarlyTap(): void {
  document.documentElement.dataset['runs'] = '';
  const button = window.earlyTap;
  delete window.earlyTap;
  if (button?.isConnected) button.click();
}
