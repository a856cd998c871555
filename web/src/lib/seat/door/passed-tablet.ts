export interface PassedTabletOptions {
  /** Does this page show the seat of this token? */
  shows: (seatToken: string) => boolean;
  /** The browser gave this page back as it was: is what it shows another one's by now? */
  isStale: () => boolean;
}

export interface PassedTablet {
  /** This page's seat is given up: whatever other page of this browser shows it ends too. */
  tell(seatToken: string): void;
  end(): void;
}

const CHANNEL = 'oddglass-seat';

/**
 * Pages of this browser that still show a seat whose tablet was handed on: a second tab, and a page that Back brings up as
 * it was. They begin anew, with what the device knows now. Without a way to tell each other the server tells them.
 */
export function watchPassedTablet({ shows, isStale }: PassedTabletOptions): PassedTablet {
  const channel = 'BroadcastChannel' in globalThis ? new BroadcastChannel(CHANNEL) : null;
  const beginAnew = (): void => {
    document.body.hidden = true;
    location.reload();
  };
  const onRestored = ({ persisted }: PageTransitionEvent): void => {
    if (persisted && isStale()) beginAnew();
  };
  if (channel)
    channel.onmessage = ({ data }: MessageEvent<unknown>) => {
      if (typeof data === 'string' && shows(data)) beginAnew();
    };
  addEventListener('pageshow', onRestored);
  return {
    tell: (seatToken) => channel?.postMessage(seatToken),
    end() {
      removeEventListener('pageshow', onRestored);
      channel?.close();
    },
  };
}
