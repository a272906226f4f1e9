import { nextSteps } from "../../../shared/words/next-steps.ts";
import type { RunDocument } from "../../daemon/run/run-document.ts";
import { shortId } from "../../job/store/uuid-v7.ts";
import { verdictText } from "./verdict-text.ts";

/** A finished power-up as a person reads it on a terminal. */
export function printDraw(document: RunDocument, print: (text: string) => void): void {
  print(verdictText(document.board ?? "unknown board", document).trimEnd());
  if (document.trip !== null) print(`  Stopped in ${document.trip.stage}: ${document.trip.because}`);
  if (document.limitToTry !== null) {
    print(
      `  The limit to try next, if everything else is clean: ${document.limitToTry.amps} A on ${document.limitToTry.feed}`,
    );
  }
  if (document.class !== null) {
    print("  Next:");
    for (const step of nextSteps(document, document)) print(`  - ${step}`);
  }
  print(`  Output: ${document.output}`);
  if (document.job !== null) print(`  Filed with job ${shortId(document.job)}`);
}
