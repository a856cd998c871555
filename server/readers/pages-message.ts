/** What a page is asked with, or what it asks the API while it is made. */
export interface PageQuestion {
  url: string;
  headers: Record<string, string>;
}

export interface PageAnswer {
  status: number;
  headers: Record<string, string>;
}

/** To the thread: make a page, or what the API said to a question of its own. */
export type ToPages =
  { id: number; make: PageQuestion } | { id: number; said: PageAnswer & { payload: string } };

/** From the thread: a page, why there is none, or a question to the API. */
export type FromPages =
  | { id: number; made: PageAnswer & { body: Uint8Array } }
  | { id: number; failed: string }
  | { id: number; ask: PageQuestion };
