/** How a number was made. Every statistic carries it, so that a page can say it beside the number. */
export interface MethodFacts {
  /** Name of the method, as the field says it. */
  method: string;
  /** What has to hold for the number to mean what it says. */
  assumption: string;
  /** Publication or standard. */
  source: string;
}
