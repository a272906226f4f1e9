import type { Energised } from "./machine-state.ts";

/** Feeds that a person said they switched on. */
export const saidToBeOn = ({ energised }: Energised): string[] =>
  energised.filter((each) => each.manual).map((each) => each.feed);

/**
 * Feeds that a person may have on: those they said they switched on, and the one they are being asked to switch on. What
 * they did while the question was open nobody knows, so they are asked to switch it off as well.
 */
export function feedsByHand(state: Energised): string[] {
  const { step } = state;
  return step.step === "ask-manual-on" ? [step.feed, ...saidToBeOn(state)] : saidToBeOn(state);
}
