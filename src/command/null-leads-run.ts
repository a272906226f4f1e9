import path from "node:path";
import { BenchError } from "../../shared/bench-error.ts";
import { BenchFile } from "../../shared/bench-file.ts";
import { BenchClient } from "../daemon/bench-client.ts";
import { openDataFolder } from "../daemon/data-folder.ts";
import { takeLeadNull } from "../daemon/take-lead-null.ts";
import { loadDrivers } from "../instrument/load-drivers.ts";
import { checkBench } from "./check-bench.ts";
import { dataDirectory } from "./data-directory.ts";
import { EXIT } from "./exit-code.ts";
import { print, printDocument, say } from "./people.ts";
import { readDocument } from "./read-document.ts";
import { cutOnSignals } from "./stop-wish.ts";

export interface NullLeadsOptions {
  bench: string;
  job?: string;
  data?: string;
  json?: boolean;
}

/** Takes a lead null from the command line; answers with the exit code. */
export async function nullLeads(options: NullLeadsOptions): Promise<number> {
  const bench = await readDocument({ schema: BenchFile, what: "bench file", file: options.bench });
  if (bench.meter === undefined)
    throw new BenchError("bad-input", `Cannot null the leads: ${options.bench} has no "meter"; nothing was touched`);
  const drivers = await loadDrivers([path.dirname(path.resolve(options.bench))]);
  checkBench(bench, drivers);
  const data = await openDataFolder(dataDirectory(options.data), { onTrouble: say });
  const client = new BenchClient({ armDirectory: data.runDirectory });
  const stop = cutOnSignals(client);
  try {
    const job = options.job === undefined ? null : await data.store.findJob(options.job);
    const { instruments, feeds } = await client.connect({ bench, drivers, feeds: Object.keys(bench.feeds) });
    for (const { feed, cutByUs } of feeds)
      if (cutByUs) say(`note: the output of ${feed} was found on and has been cut`);
    const meter = instruments.find((each) => each.name === bench.meter);
    if (meter === undefined) throw new BenchError("no-reply", "Cannot null the leads: the meter was not found");
    say("Hold the probes together.");
    const { leadNull, remark } = await takeLeadNull({
      client,
      meter: meter.identity,
      directory: data.directory,
      job: job === null ? null : { store: data.store, id: job },
    });
    const { ohms, spreadOhms, at } = leadNull;
    if (options.json === true) printDocument({ ohms, spreadOhms, at, meter: leadNull.meter, remark });
    else print(`Leads nulled at ${ohms} Ω${remark === null ? "" : `; ${remark}`}.`);
    return stop.by === null ? EXIT.asPlanned : EXIT.failed;
  } finally {
    await client.close();
    stop.release();
    await data.close();
  }
}
