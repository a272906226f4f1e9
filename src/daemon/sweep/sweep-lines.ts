import type { SweepEffect, SweepLine, SweepPoint, SweepQuantity, SweepRail } from "../../../shared/sweep.ts";

/** A value under its quantity's name, as every line has it. */
export function valued(
  quantity: SweepQuantity,
  value: number | null,
  overload: boolean,
): Pick<SweepRail, "volts" | "ohms" | "diodeVolts"> {
  const shown = overload ? ("open" as const) : value;
  if (quantity === "volts") return { volts: value };
  return quantity === "ohms" ? { ohms: shown } : { diodeVolts: shown };
}

/** The line an effect of the machine is told by; null for one that is none. `left` counts the points still to come. */
export function lineOf(effect: SweepEffect, points: readonly SweepPoint[], left: number): SweepLine | null {
  const index = "index" in effect ? effect.index : null;
  const point = index === null ? undefined : points[index];
  if (effect.effect === "next") return { event: "next", rail: point?.rail ?? null, point: point?.point ?? null, left };
  if (point === undefined) return null;
  const { rail, quantity } = point;
  switch (effect.effect) {
    case "place-probe":
      return {
        event: "place-probe",
        rail,
        point: point.point,
        quantity,
        expected: point.expected,
        limits: [point.low, point.high],
        left,
      };
    case "show":
      return {
        event: "reading",
        rail,
        ...valued(quantity, effect.value, effect.overload),
        stable: false,
        motion: effect.motion,
      };
    case "question": {
      const { because, fits, value } = effect;
      return { event: "question", rail, ...valued(quantity, value, false), because, fits };
    }
    case "hint":
      return { event: "hint", rail, text: effect.text };
    default:
      return null;
  }
}
