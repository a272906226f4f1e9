import { BenchError } from "../../../shared/bench-error.ts";
import { takeLeadNull } from "../../daemon/run/take-lead-null.ts";
import { EXIT } from "../input/exit-code.ts";
import { print, printDocument, say } from "../text/people.ts";
import { type OpenBench, withBench } from "./with-bench.ts";

export interface NullLeadsOptions {
  bench: string;
  job?: string;
  data?: string;
  json?: boolean;
}

/** Takes a lead null from the command line; answers with the exit code. */
export async function nullLeads(options: NullLeadsOptions): Promise<number> {
  return await withBench(options, (open) => nullOn(open, options));
}

async function nullOn({ bench, drivers, ownDrivers, client, data, stop, job }: OpenBench, options: NullLeadsOptions) {
  if (bench.meter === undefined)
    throw new BenchError("bad-input", `Cannot null the leads: ${options.bench} names no "meter"; nothing was touched`);
  const { instruments, feeds } = await client.connect({ bench, drivers, ownDrivers, feeds: Object.keys(bench.feeds) });
  for (const { feed, cutByUs } of feeds) if (cutByUs) say(`note: the output of ${feed} was found on and has been cut`);
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
}
