import type { Clock } from "../../shared/clock.ts";
import type { Plan } from "../../shared/plan.ts";
import type { Supply } from "../instrument/supply.ts";
import type { Outputs } from "./cut-lane.ts";

/** Shortest time without a word after which a supply should switch off by itself, seconds. */
const LEAST_WATCHDOG_S = 2;
const LOOK_MS = 1000;

/**
 * The layers inside the supplies of a run. A protection left over from before is cleared, which is done only behind a
 * verified off and verified again; the communication watchdog is armed before anything is energised. Throws BenchError
 * where one does not take; nothing is on then.
 */
export async function prepareSupplies(outputs: Outputs, plan: Plan): Promise<void> {
  // All at once: one watchdog must not run down while the next supply is made ready. Each is waited for, also where
  // another failed, since what is still being said to a supply must not come behind the cut that follows.
  const made = await Promise.allSettled(
    [...outputs].map(([supply, channels]) => prepareSupply(supply, channels, watchdogSeconds(supply, plan))),
  );
  const failed = made.find((each) => each.status === "rejected");
  if (failed !== undefined) throw failed.reason;
}

async function prepareSupply(supply: Supply, channels: readonly number[], seconds: number): Promise<void> {
  await supply.disarmWatchdog();
  for (const channel of channels) {
    // Whether a watchdog acted cannot be asked of every supply, so there the clearing is not made to depend on it.
    if (supply.traits.hasWatchdog || (await supply.trippedBy(channel)) !== null) await supply.clearProtection(channel);
  }
  await supply.armWatchdog(seconds);
}

/** Three rounds over the feeds of a supply, at least 2 s, in whole seconds: some take no others. */
function watchdogSeconds(supply: Supply, plan: Plan): number {
  const roundMs = plan.feeds
    .filter((each) => each.supply === supply.name)
    .reduce((sum, each) => sum + each.readIntervalMs, 0);
  return Math.max(LEAST_WATCHDOG_S, Math.ceil((3 * roundMs) / 1000));
}

/** Calls the watchdogs off again, of supplies whose outputs were proved off. A supply that no longer answers keeps its own. */
export async function releaseSupplies(outputs: Outputs): Promise<void> {
  await Promise.allSettled([...outputs.keys()].map((supply) => supply.disarmWatchdog()));
}

/**
 * Asks each supply once a second whether it was switched off and on in between: one that comes back with its output and
 * settings as they were shows it nowhere else. The question also feeds the watchdog while nothing is read. It is left out
 * while `mayAsk` says no. Answers with the way to end it.
 */
export function watchRestarts(
  outputs: Outputs,
  clock: Clock,
  { onRestarted, mayAsk }: { onRestarted: (supply: Supply) => void; mayAsk: () => boolean },
): () => void {
  let stopped = false;
  const cancels = new Map<Supply, () => void>();
  const look = (supply: Supply): void => {
    cancels.set(
      supply,
      clock.after(LOOK_MS, () => {
        if (!mayAsk()) return look(supply);
        void supply
          .hasRestarted()
          // Silence is noticed by the readings, sooner.
          .catch(() => false)
          .then((restarted) => {
            if (stopped) return;
            if (restarted) onRestarted(supply);
            look(supply);
          });
      }),
    );
  };
  for (const supply of outputs.keys()) look(supply);
  return () => {
    stopped = true;
    for (const cancel of cancels.values()) cancel();
  };
}
