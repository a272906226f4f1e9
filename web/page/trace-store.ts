import type { WireDown, WireReading, WireRun } from "../../shared/wire.ts";

/** Columns as the chart wants them: seconds, then one array a line; null is a gap. */
export interface TraceColumns {
  seconds: number[];
  volts: (number | null)[];
  amps: (number | null)[];
}

const MOST_POINTS = 6_000;

/** The readings of the present run, each feed by itself; bounded by thinning the older half. */
export class TraceStore {
  /** Grows with every change; 0 while there is nothing. */
  version = 0;
  #run: string | null = null;
  #goesOn = false;
  readonly #feeds = new Map<string, TraceColumns>();

  take(message: WireDown): void {
    if (message.type === "snapshot") this.show(message.snapshot.run, message.snapshot.trace);
    else if (message.type === "run-state" && message.run.run !== this.#run) {
      this.#begin(message.run);
    } else if (message.type === "outcome") {
      this.#goesOn = false;
    } else if (message.type === "frame" && this.#goesOn) {
      // Between runs the readings have another zero of time, and no limits to be drawn against.
      for (const { feed, readings } of message.feeds) this.#add(feed, readings, message.gap);
    }
  }

  /** Takes a run with all that was read in it so far. */
  show(run: WireRun | null, trace: readonly { feed: string; readings: WireReading[] }[]): void {
    this.#begin(run);
    for (const { feed, readings } of trace) this.#add(feed, readings, false);
  }

  columns(feed: string): TraceColumns {
    return this.#feeds.get(feed) ?? { seconds: [], volts: [], amps: [] };
  }

  /** The feed with the greatest current of the run; null while nothing was drawn. */
  busiest(): string | null {
    let found: { feed: string; amps: number } | null = null;
    for (const [feed, { amps }] of this.#feeds) {
      const greatest = amps.reduce<number>((most, each) => Math.max(most, each ?? 0), 0);
      if (found === null || greatest > found.amps) found = { feed, amps: greatest };
    }
    return found?.feed ?? null;
  }

  #begin(run: WireRun | null): void {
    this.#feeds.clear();
    this.version = 0;
    this.#run = run?.run ?? null;
    this.#goesOn = run !== null && run.outcome === null;
  }

  #add(feed: string, readings: WireReading[], gap: boolean): void {
    this.version += 1;
    const columns = this.#feeds.get(feed) ?? { seconds: [], volts: [], amps: [] };
    this.#feeds.set(feed, columns);
    for (const [index, reading] of readings.entries()) {
      const seconds = reading.atMs / 1000;
      const latest = columns.seconds.at(-1);
      if (latest !== undefined && seconds <= latest) continue;
      if (gap && index === 0 && latest !== undefined) push(columns, (latest + seconds) / 2, null, null);
      push(
        columns,
        seconds,
        reading.volts.kind === "value" ? reading.volts.volts : null,
        reading.amps.kind === "value" ? reading.amps.amps : null,
      );
    }
    if (columns.seconds.length > MOST_POINTS) this.#feeds.set(feed, thinned(columns));
  }
}

function push(columns: TraceColumns, seconds: number, volts: number | null, amps: number | null): void {
  columns.seconds.push(seconds);
  columns.volts.push(volts);
  columns.amps.push(amps);
}

/** Every second point of the older half goes; of each pair the one with the greater current stays, so that peaks do. */
function thinned(columns: TraceColumns): TraceColumns {
  const half = Math.floor(columns.seconds.length / 4) * 2;
  const kept: number[] = [];
  for (let at = 0; at < columns.seconds.length; at++) {
    if (at >= half) kept.push(at);
    else if (at % 2 === 0) kept.push((columns.amps[at + 1] ?? 0) > (columns.amps[at] ?? 0) ? at + 1 : at);
  }
  return {
    seconds: kept.map((at) => columns.seconds[at] ?? 0),
    volts: kept.map((at) => columns.volts[at] ?? null),
    amps: kept.map((at) => columns.amps[at] ?? null),
  };
}
