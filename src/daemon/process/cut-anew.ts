import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { DriverFile, OwnDrivers } from "../../../shared/files/driver-file.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { BenchProcess } from "./bench-process.ts";

export interface CutAnew {
  output: "off" | "unknown";
  because: string;
}

/**
 * For outputs whose bench process and guardian are both gone without a word: another bench process connects, which cuts
 * what it finds on. Says what is then true of all outputs of these feeds. Never throws.
 */
export async function cutAnew(of: {
  bench: BenchFile;
  drivers: DriverFile[];
  ownDrivers?: OwnDrivers;
  feeds: string[];
  armDirectory: string;
}): Promise<CutAnew> {
  const { armDirectory, ...what } = of;
  const client = new BenchProcess({ armDirectory });
  try {
    const { feeds } = await client.connect(what);
    const words = feeds.map(
      ({ feed, output, cutByUs }) => `${feed} ${cutByUs ? "was still on and has now been cut: " : ""}${output}`,
    );
    return {
      output: feeds.every((each) => each.output === "off") ? "off" : "unknown",
      because: `another bench process found: ${words.join("; ")}`,
    };
  } catch (cause) {
    const said = messageOf(cause);
    return { output: "unknown", because: `another bench process could not check: ${said}` };
  } finally {
    await client.close();
  }
}
