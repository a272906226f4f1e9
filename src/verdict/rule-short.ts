import type { OverloadKind } from "../../shared/draw-verdict.ts";
import { type FeedFigures, touchesOf } from "./feed-figures.ts";
import type { Finding } from "./finding.ts";
import type { Look } from "./look.ts";
import { sayAmps, sayOhms, sayVolts } from "./say.ts";
import { LIMITS } from "./verdict-limits.ts";

/**
 * What the looks at low voltage say of one feed: a dead short, a part that conducts where nothing should, or nothing
 * (null). No converter runs under 1 V, so what flows there is the board's own resistance (trade practice, no source).
 */
export function ruleShort(figures: FeedFigures): Finding | null {
  const { feed, trace } = figures.view;
  const touches = touchesOf(figures);
  const conducting = touches.filter((look) => look.conducts && (look.settled || look.limited === true));
  const look = conducting.reduce<Look | null>(
    (least, each) => (least === null || each.ohms < least.ohms ? each : least),
    null,
  );
  if (look !== null && (look.ohms < LIMITS.partialShortOhms || look.limited === true)) {
    return shortOf(feed, trace.leadOhms, look, conducting);
  }
  const held = figures.looks.find(({ phase, limited, settled }) => phase === "hold-low" && limited === true && settled);
  if (held === undefined) return null;
  return {
    class: "overload",
    sub: "unknown",
    probability: 0.8,
    rivals: [{ class: "dead-short", probability: 0.05 }],
    because: [
      `Feed ${feed} held the limit at 3 V: ${sayVolts(held.volts)} at ${sayAmps(held.amps)}, where it drew nothing at 0.9 V.`,
      "Something conducts between 1 V and 3 V, where a 12 V converter is still locked out: a clamp, a linear regulator into a short, or a diode path.",
    ],
    feed,
    shortOhms: held.ohms,
  };
}

function shortOf(feed: string, leadOhms: number | null, look: Look, conducting: readonly Look[]): Finding {
  const lead = leadOhms === null ? "with the leads in it, which are not known" : `behind ${sayOhms(leadOhms)} of leads`;
  const reading = `Feed ${feed} read ${sayVolts(look.volts)} at ${sayAmps(look.amps)}: ${sayOhms(look.ohms)} ${lead}.`;
  const because = [reading];
  const below = look.expandedOhms + (leadOhms === null ? LIMITS.unknownLeadOhms : 0);
  const shared = { feed, shortOhms: look.ohms };
  if (look.ohms < LIMITS.deadShortOhms - look.expandedOhms || (look.ohms < 0.3 && look.limited !== false)) {
    because.push(
      `Under ${sayOhms(LIMITS.deadShortOhms)} an input is a dead short: nothing on the board works into it.`,
    );
    return {
      ...shared,
      class: "dead-short",
      probability: 0.97,
      rivals: [{ class: "overload", probability: 0.02 }],
      because,
    };
  }
  if (look.ohms < LIMITS.deadShortOhms + below) {
    because.push(
      `That is within ${sayOhms(below)} of ${sayOhms(LIMITS.deadShortOhms)}, so dead and partial short cannot be told apart here; a four-wire ohm reading would.`,
    );
    const deadShare = look.ohms <= LIMITS.deadShortOhms ? 0.6 : 0.4;
    const rivals = [
      { class: "dead-short" as const, probability: deadShare },
      { class: "overload" as const, probability: 0.98 - deadShare },
    ];
    return { ...shared, class: "cannot-tell", probability: 0, rivals, because };
  }
  const kind = kindOf(look, conducting);
  because.push(...kind.because);
  return {
    ...shared,
    class: "overload",
    sub: kind.sub,
    probability: 0.94,
    rivals: [{ class: "dead-short", probability: look.ohms < 1 ? 0.04 : 0.01 }],
    because,
  };
}

/** Two limits tell a resistor (volts follow the current) from a junction (volts hardly move). */
function kindOf(look: Look, conducting: readonly Look[]): { sub: OverloadKind; because: string[] } {
  const [low, high] = LIMITS.junctionVolts;
  const held = conducting.filter(({ limited }) => limited !== false).sort((a, b) => a.amps - b.amps);
  const [first, last] = [held[0], held[held.length - 1]];
  const inJunction = look.limited !== false && look.volts >= low && look.volts <= high;
  if (first !== undefined && last !== undefined && last.amps > 1.4 * first.amps) {
    const follow = (last.volts / first.volts - 1) / (last.amps / first.amps - 1);
    const pair = `At ${sayAmps(first.amps)} it stood at ${sayVolts(first.volts)}, at ${sayAmps(last.amps)} at ${sayVolts(last.volts)}`;
    if (follow > 0.6) return { sub: "ohmic", because: [`${pair}: the volts follow the current, as in a resistor.`] };
    if (follow < 0.35 && last.volts <= high + 0.1) {
      return {
        sub: "junction",
        because: [`${pair}: the volts hardly move, as over a diode. Check the polarity of the leads first.`],
      };
    }
    return { sub: "unknown", because: [`${pair}: neither a resistor nor a junction.`] };
  }
  if (inJunction) {
    return {
      sub: "unknown",
      because: [
        `A steady ${sayVolts(look.volts)} at the limit is what a diode path looks like too. Check the polarity of the leads first; a second, higher limit under 1 V tells a resistor from a junction.`,
      ],
    };
  }
  return {
    sub: "ohmic",
    because: [
      `A healthy input draws under 1 mA there; ${sayOhms(LIMITS.partialShortOhms)} or less is a partial short.`,
    ],
  };
}
