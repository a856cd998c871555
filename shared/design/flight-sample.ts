/** A cup of a flight that takes part in the balance: warm-ups and marked cups do not. */
export interface FlightSample {
  id: string;
  /** Shared by cups of one liquid: these are kept apart. */
  sameAs: string;
}
