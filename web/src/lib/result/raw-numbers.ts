/** One computed number of a part as it stands in the list of all numbers. */
export interface RawNumber {
  name: string;
  /** Null: there is none, for example an upper limit without bound. */
  value: number | null;
}
