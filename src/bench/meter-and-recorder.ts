import type { ToBench } from "../../shared/ipc.ts";
import type { RecorderTrigger } from "../instrument/recorder/recorder.ts";
import { askMeter, type MeterLane } from "./meter-lane.ts";
import type { RecorderLane } from "./recorder-lane.ts";

/** The meter and the recorder of a bench, where there are such; the recorder may be the meter's own buffer. */
interface Both {
  meter: MeterLane | undefined;
  recorder: RecorderLane | undefined;
}

/** Before a run: the meter no longer drives a current, and the recorder is armed or given up. Throws what the meter throws. */
export async function leaveColdAndArm({ meter, recorder }: Both, trigger: RecorderTrigger | null): Promise<void> {
  const cold = meter?.leaveColdBeforePower();
  // The buffer of a meter is armed once that meter reads volts.
  if (recorder?.inside === "meter") await cold;
  await Promise.all([cold, recorder?.arm(trigger)]);
}

/** Does what the daemon asks of the meter; what its buffer is armed for is given up for a reading. Throws as `askMeter` does. */
export async function askMeterBeside(
  both: Both | undefined,
  message: Extract<ToBench, { type: "meter-read" | "meter-rest" }>,
): Promise<void> {
  const { meter, recorder } = both ?? {};
  if (message.type === "meter-read" && recorder?.inside === "meter") await recorder.yield();
  await askMeter(meter, message);
}
