/** Bytes that the bench process put on a line to an instrument, before anything could happen to them. */
export interface Written {
  atMs: number;
  instrument: string;
  connection: number;
  text: string;
}

/** A command for an output, as it was written. */
export interface SwitchLine {
  atMs: number;
  instrument: string;
  connection: number;
  channel: number;
  to: "on" | "off";
}

const OUTPUT = /^:?OUTP(\d*) (ON|OFF)(?:,\(@([\d,]+)\))?$/;
const SELECT = /^:?INST:NSEL (\d+)$/;

/** The commands for outputs among what was written, in the simulated supplies' own spellings; a channel may be selected before. */
export function switchLines(written: readonly Written[]): SwitchLine[] {
  const selected = new Map<string, number>();
  return written.flatMap(({ atMs, instrument, connection, text }) => {
    const units = text.split(/[\r\n;]+/).map((each) => each.trim());
    return units.flatMap((unit) => {
      const select = SELECT.exec(unit);
      if (select !== null) selected.set(instrument, Number(select[1]));
      const [, number = "", word, list] = OUTPUT.exec(unit) ?? [];
      if (word === undefined) return [];
      const to = word === "ON" ? ("on" as const) : ("off" as const);
      const channels = list?.split(",").map(Number) ?? [
        number === "" ? (selected.get(instrument) ?? 1) : Number(number),
      ];
      return channels.map((channel) => ({ atMs, instrument, connection, channel, to }));
    });
  });
}
