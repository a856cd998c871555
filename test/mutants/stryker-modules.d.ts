// The part of Stryker that run.ts calls: it is not installed with the rest, and types are checked without it.
declare module '@stryker-mutator/core' {
  export interface MutantResult {
    fileName: string;
    location: { start: Position; end: Position };
    replacement?: string;
    /** Its code also runs outside of a test: while a module loads, or in a hook around all tests of a file. */
    static?: boolean;
    status:
      | 'Killed'
      | 'Survived'
      | 'NoCoverage'
      | 'CompileError'
      | 'RuntimeError'
      | 'Timeout'
      | 'Ignored'
      | 'Pending';
  }
  interface Position {
    line: number;
    column: number;
  }
  export class Stryker {
    constructor(options: Record<string, unknown>);
    runMutationTest(): Promise<MutantResult[]>;
  }
}
