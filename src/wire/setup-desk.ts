import type { FoundLink, SetupFileBody, SetupFinding, SetupView } from "../../shared/files/setup.ts";

/**
 * The first set-up as a page works with it. Nothing of it switches an output on. A `BenchError` is an answer for the person;
 * one with `detail.there` "bench-file" asks whether the file shall be replaced.
 */
export interface PageSetup {
  view(): Promise<SetupView>;
  /** Opens one address, asks who is there, and closes it. */
  look(address: string): Promise<FoundLink>;
  /** Writes the bench file; answers with its full path. */
  write(asked: SetupFileBody): Promise<string>;
  /** The check with open leads of a bench file that was written. */
  check(file: string): Promise<SetupFinding[]>;
  /** Takes a bench file into use: from then on the page works with its instruments. */
  use(file: string): Promise<void>;
  /** Starts a simulated bench and takes it into use, with a record of its own. */
  rehearse(scenario: string): Promise<void>;
  endRehearsal(): Promise<void>;
  /** Puts the simulated probe on a point, or lifts it. */
  probe(point: string | null): Promise<void>;
}
