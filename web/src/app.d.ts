/** What the server hands to a page on the raw request: its own API, in process. */
interface ApiAnswer {
  status: number;
  headers: Record<string, string>;
  payload: string;
}
interface ApiQuestion {
  method: string;
  url: string;
  headers: Record<string, string>;
  body: string | undefined;
}

declare module 'node:http' {
  interface IncomingMessage {
    answerApi?: (question: ApiQuestion) => Promise<ApiAnswer>;
  }
}

export {};
