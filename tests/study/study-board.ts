import type { DrawClass } from "../../shared/draw-verdict.ts";
import { BoardFile } from "../../shared/files/board-file.ts";
import type { Random } from "../../src/simulator/random.ts";
import type { Draw } from "./quick-circuit.ts";

/** What is wrong with a board of the study, or not: the row of the confusion matrix. */
export const MECHANISMS = [
  "open-input",
  "standby-only",
  "partly-up",
  "core-alive",
  "normal",
  "dead-short",
  "ohmic",
  "junction",
  "clamp",
  "over-demand",
  "limited",
  "start-demand",
  "retrying",
  "creeping",
  "leaky",
  "intermittent",
] as const;
export type Mechanism = (typeof MECHANISMS)[number];

/** How often each is drawn, parts of their sum; the mix of a repair shop is not known (common practice, no source). */
const SHARES: Record<Mechanism, number> = {
  "open-input": 8,
  "standby-only": 9,
  "partly-up": 9,
  "core-alive": 9,
  normal: 14,
  "dead-short": 9,
  ohmic: 7,
  junction: 4,
  clamp: 2,
  "over-demand": 7,
  limited: 4,
  "start-demand": 4,
  retrying: 12,
  creeping: 7,
  leaky: 2,
  intermittent: 3,
};

export interface StudyBoard {
  mechanism: Mechanism;
  truth: DrawClass;
  board: BoardFile;
  /** Of its kind: what bands, limits and capacitors scale with. */
  scale: number;
  draw: Draw;
  limitAmps: number;
  watchMs: number;
  /** Amps after all that starts has started and before anything climbs. */
  levelAmps: number;
  /** How much the draw moves from one moment to the next, standard deviation as a share of itself. */
  rippleShare: number;
}

export const uniform = (random: Random, low: number, high: number): number => low + (high - low) * random.next();
export const logUniform = (random: Random, low: number, high: number): number =>
  Math.exp(uniform(random, Math.log(low), Math.log(high)));
export const pick = <T>(random: Random, ...of: readonly T[]): T => of[Math.floor(random.next() * of.length)] as T;

/** Bands of a kind of scale 1 with one 12 V feed, no host, no fans. */
const BANDS = {
  "standby-only": [0.003, 0.08],
  "partly-up": [0.08, 0.35],
  "core-alive": [0.35, 0.6],
  normal: [0.65, 1.1],
} as const;
type Level = keyof typeof BANDS;

function kindOf(scale: number, limitAmps: number, lockOutVolts: [number, number], farads: number): BoardFile {
  const scaled = ([low, high]: readonly [number, number]) => [low === 0.003 ? low : low * scale, high * scale];
  return BoardFile.parse({
    version: 1,
    name: "Wren W1",
    feeds: {
      in12: {
        nominalVolts: 12,
        limitAmps: 1.5 * limitAmps,
        firstAmps: limitAmps,
        lockOutVolts,
        inputFarads: [0.5 * farads, 2 * farads],
      },
    },
    idleAmps: [
      {
        when: { host: "none", fans: "off" },
        of: ["in12"],
        bands: {
          "open-input": [0, 0.003],
          ...Object.fromEntries(Object.entries(BANDS).map(([name, band]) => [name, scaled(band)])),
        },
      },
    ],
  });
}

function mechanismOf(random: Random): Mechanism {
  let left = random.next() * Object.values(SHARES).reduce((sum, share) => sum + share, 0);
  for (const each of MECHANISMS) {
    left -= SHARES[each];
    if (left < 0) return each;
  }
  return "normal";
}

/** Log-normal about the middle of its band, three deviations to each edge: a few boards of a kind lie outside. */
function levelIn(random: Random, scale: number, name: Level): number {
  const [low, high] = BANDS[name];
  const [from, to] = [low === 0.003 ? low : low * scale, high * scale];
  return Math.sqrt(from * to) * Math.exp((random.normal() * Math.log(to / from)) / 6);
}

/** One board of the study: its kind, what it does, how long it is watched. */
export function drawBoard(random: Random): StudyBoard {
  const mechanism = mechanismOf(random);
  const scale = logUniform(random, 0.7, 3);
  // What draws too much at nominal must have got there.
  const limitAmps =
    scale *
    (mechanism === "over-demand" || mechanism === "leaky" ? 3 : mechanism === "start-demand" ? 2 : pick(random, 2, 3));
  const rising = uniform(random, 6.5, 9);
  const lockOutVolts: [number, number] = [rising, rising - uniform(random, 0.4, 1.2)];
  const inputFarads = logUniform(random, 0.0005, 0.004);
  const board = kindOf(scale, limitAmps, lockOutVolts, inputFarads);
  const draw: Draw = {
    open: false,
    inputFarads,
    leadOhms: uniform(random, 0.02, 0.15),
    esrOhms: uniform(random, 0.005, 0.03),
    lockOutVolts,
    siemens: 1 / logUniform(random, 3000, 30_000),
    junction: null,
    biasAmps: 0,
    watts: 0,
    startWatts: 0,
    startMs: 0,
    pulse: null,
    leak: null,
    creep: null,
    flicker: null,
  };
  const base = {
    mechanism,
    board,
    scale,
    draw,
    limitAmps,
    watchMs: pick(random, 8000, 15_000, 15_000, 15_000, 75_000),
    // Mostly under 1 %: common practice, no source.
    rippleShare: 0.004 * Math.exp(0.6 * random.normal()),
  };
  const at = (level: number): number => {
    draw.biasAmps = Math.min(0.012 * scale, level);
    draw.watts = 12 * Math.max(0, level - draw.biasAmps);
    return level;
  };
  /** A healthy board and a current on top that does not care about the voltage. */
  const above = (perScale: number): number => {
    at(0.85 * scale);
    draw.biasAmps += (perScale - 0.85) * scale;
    return perScale * scale;
  };
  const healthyStart = (): void => {
    if (random.next() < 0.3) {
      draw.startWatts = draw.watts * uniform(random, 1.1, 1.8);
      draw.startMs = uniform(random, 10, 900);
    }
    if (random.next() < 0.6)
      draw.creep = { share: uniform(random, 0.02, 0.08), tauMs: uniform(random, 60_000, 300_000) };
  };
  const is = (truth: DrawClass, levelAmps: number): StudyBoard => ({ ...base, truth, levelAmps });
  switch (mechanism) {
    case "open-input":
      draw.open = true;
      draw.siemens = 0;
      return is("open-input", 0);
    case "standby-only":
    case "partly-up":
      return is(mechanism, at(levelIn(random, scale, mechanism)));
    case "core-alive":
    case "normal": {
      const level = at(levelIn(random, scale, mechanism));
      healthyStart();
      // What starts with more than the limit gives at the lock-out loops, however healthy it is: one try cannot decide.
      const loops = draw.startWatts > 0.95 * lockOutVolts[1] * (limitAmps - draw.biasAmps);
      return { ...is(mechanism, level), mechanism: loops ? "start-demand" : mechanism };
    }
    case "dead-short":
      draw.siemens = 1 / logUniform(random, 0.005, 0.48);
      return is("dead-short", 0);
    case "ohmic":
      draw.siemens = 1 / logUniform(random, 0.55, 60);
      return is("overload", 0);
    case "junction":
      draw.junction = { volts: uniform(random, 0.3, 0.75), ohms: logUniform(random, 0.01, 0.1) };
      return is("overload", 0);
    case "clamp":
      draw.junction = { volts: uniform(random, 1.2, 2.2), ohms: logUniform(random, 0.05, 0.5) };
      return is("overload", 0);
    case "over-demand":
      return is("overload", above(uniform(random, 1.7, 2.1)));
    case "limited":
      if (random.next() < 0.5) at(limitAmps * uniform(random, 1.4, 3));
      else {
        const volts = uniform(random, 4, 10);
        draw.junction = { volts, ohms: (12 - volts) / (limitAmps * uniform(random, 1.3, 4)) };
      }
      return is("overload", limitAmps);
    case "start-demand": {
      const level = at(levelIn(random, scale, "normal"));
      draw.startWatts = 12 * limitAmps * uniform(random, 1.05, 1.6);
      draw.startMs = uniform(random, 300, 900);
      return is("normal", level);
    }
    case "retrying": {
      const level = at(levelIn(random, scale, random.next() < 0.7 ? "standby-only" : "partly-up"));
      const periodMs = logUniform(random, 7, 2500);
      const onMs = periodMs * uniform(random, 0.03, 0.25);
      draw.pulse = { amps: scale * uniform(random, 0.4, 1.6), periodMs, onMs };
      return is("retrying", level);
    }
    case "creeping": {
      const level = at(levelIn(random, scale, pick(random, "core-alive", "normal")));
      // A slow leak needs a long watch: in a short one it is what a healthy board does while it warms.
      const perMin = base.watchMs > 60_000 ? logUniform(random, 0.12, 1) : logUniform(random, 0.25, 2);
      const tauMs = uniform(random, 20_000, 120_000);
      draw.leak = { amps: (level * perMin * tauMs) / 60_000, tauMs, mostAmps: 0.9 * limitAmps - level };
      return is("creeping", level);
    }
    case "leaky": {
      const level = above(uniform(random, 1.7, 2));
      const tauMs = uniform(random, 20_000, 120_000);
      const perMin = base.watchMs > 60_000 ? logUniform(random, 0.12, 1) : logUniform(random, 0.25, 2);
      draw.leak = { amps: (level * perMin * tauMs) / 60_000, tauMs, mostAmps: 0.95 * limitAmps - level };
      return is("overload", level);
    }
    case "intermittent": {
      const level = at(levelIn(random, scale, "partly-up"));
      draw.flicker = {
        amps: scale * uniform(random, 0.3, 0.8),
        onMs: uniform(random, 150, 800),
        offMs: uniform(random, 150, 800),
      };
      return is("cannot-tell", level);
    }
  }
}
