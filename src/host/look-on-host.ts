import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { changesBetween } from "./look-changes.ts";
import { readSysfs } from "./read-sysfs.ts";

export interface LookOptions {
  /** The folder the kernel shows devices under; "/sys" on a live host. */
  sysfs: string;
  watch: boolean;
  /** The interval between looks of a watch, seconds. */
  everySeconds: number;
  rescan: boolean;
  /** Do not ask before the bus is scanned anew. */
  yes: boolean;
}

export interface LookPorts {
  /** Gets one JSON document a line. */
  print: (line: string) => void;
  say: (text: string) => void;
  confirm: (question: string) => Promise<boolean>;
  /** Settles with the wish to end a watch. */
  ended: Promise<void>;
}

const RESCAN_QUESTION =
  "Scan the PCI bus again? Devices that were added since the start will be switched on; a host with a bad card can hang.";
/** After a scan the kernel goes on with drivers; this long a look waits for them. */
const SETTLE_MS = 1000;

/**
 * Looks at the PCI devices of this host and prints the document; with `watch` also a line whenever something has changed, until
 * it is ended. Answers the exit code: 0 looked, 1 the scan was refused by the host, 2 there is nothing to look at or nobody
 * agreed to the scan.
 */
export async function lookOnHost(options: LookOptions, ports: LookPorts): Promise<0 | 1 | 2> {
  const { sysfs, rescan, watch, everySeconds } = options;
  try {
    readSysfs(sysfs);
  } catch (cause) {
    ports.say(cause instanceof Error ? cause.message : String(cause));
    return 2;
  }
  if (rescan) {
    if (!options.yes && !(await ports.confirm(RESCAN_QUESTION))) {
      ports.say("Not confirmed; the bus was not scanned and nothing was changed.");
      return 2;
    }
    try {
      writeFileSync(join(sysfs, "bus", "pci", "rescan"), "1");
    } catch (cause) {
      const why = cause instanceof Error ? cause.message : String(cause);
      ports.say(`Cannot scan the PCI bus again: ${why}. It needs root; nothing was changed.`);
      return 1;
    }
    await pause(SETTLE_MS, ports.ended);
  }
  let last = { ...readSysfs(sysfs), rescanned: rescan };
  ports.print(JSON.stringify(last));
  let isOver = !watch;
  void ports.ended.then(() => {
    isOver = true;
  });
  while (!isOver) {
    await pause(1000 * everySeconds, ports.ended);
    const now = readSysfs(sysfs);
    const at = now.lookedAt ?? new Date().toISOString();
    for (const change of changesBetween(last, now, at)) ports.print(JSON.stringify(change));
    last = { ...now, rescanned: rescan };
  }
  return 0;
}

/** Waits so long, or until the end is wished for. */
async function pause(ms: number, ended: Promise<void>): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  const over = new Promise<void>((resolve) => {
    timer = setTimeout(resolve, ms);
  });
  await Promise.race([over, ended]);
  clearTimeout(timer);
}
