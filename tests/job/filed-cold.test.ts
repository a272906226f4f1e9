import { describe, expect, test } from "vitest";
import type { JobEvent, StoredEvent } from "../../shared/record/job.ts";
import { filedCold } from "../../src/job/known/filed-cold.ts";

const START_MS = Date.parse("2026-03-02T09:00:00.000Z");
type Filed = JobEvent | { afterMinutes: number; event: JobEvent };

/** A log whose events were filed at nine o'clock, or so many minutes later. */
function log(...events: Filed[]): StoredEvent[] {
  return events.map((each, index) => {
    const { afterMinutes, event } = "kind" in each ? { afterMinutes: 0, event: each } : each;
    const seq = index + 1;
    const id = `01900000-0000-7000-8000-${String(seq).padStart(12, "0")}`;
    return { id, seq, recordedAt: new Date(START_MS + afterMinutes * 60_000).toISOString(), event };
  });
}
const cold = (ohms: Record<string, number | "open">, boardCelsius: number | null = null): JobEvent => ({
  kind: "cold-readings",
  ohms,
  by: "meter",
  boardCelsius,
});
const at = (minutes: number) => ({ nowMs: START_MS + minutes * 60_000 });
const repair: JobEvent = { kind: "repair", text: "replaced Q12", parts: [] };

describe("cold readings of a job", () => {
  test("count for half an hour (common practice, no source)", () => {
    const filed = log(cold({ aux: 12_400 }));
    expect(filedCold(filed, at(29))["aux"]).toEqual({ ohms: 12_400, by: "meter", ageMs: 29 * 60_000, expired: null });
    expect(filedCold(filed, at(31))["aux"]?.expired).toContain("31 min old");
  });

  test("dated later than now are of an unknown age, and count no more: a clock was changed", () => {
    const filed = log(cold({ aux: 12_400 }));
    expect(filedCold(filed, at(-0.5))["aux"]?.expired).toBeNull();
    expect(filedCold(filed, at(-24 * 60))["aux"]?.expired).toContain("dated later than now");
  });

  test("the last of a point stands, whichever end of a pair was named first", () => {
    const filed = filedCold(log(cold({ aux: 500, "aux:core": 90 }), cold({ "core:aux": 3100 })), at(1));
    expect(filed["aux:core"]?.ohms).toBe(3100);
    expect(Object.keys(filed)).toEqual(["aux", "aux:core"]);
  });

  test("a repair after them expires them, one before them does not; a note does nothing", () => {
    expect(filedCold(log(cold({ aux: 500 }), repair), at(1))["aux"]?.expired).toContain("a repair");
    expect(filedCold(log(repair, cold({ aux: 500 })), at(1))["aux"]?.expired).toBeNull();
    expect(filedCold(log(cold({ aux: 500 }), { kind: "note", text: "owner rang" }), at(1))["aux"]?.expired).toBeNull();
  });

  test("those of a warm board do not count: over 30 °C, or 10 °C from a later reading (common practice, no source)", () => {
    expect(filedCold(log(cold({ aux: 500 }, 31)), at(1))["aux"]?.expired).toContain("31 °C");
    expect(filedCold(log(cold({ aux: 500 }, 30)), at(1))["aux"]?.expired).toBeNull();
    const changed = filedCold(log(cold({ aux: 500 }, 15), cold({ core: 0.4 }, 26)), at(1));
    expect(changed["aux"]?.expired).toContain("at 15 °C then and at 26 °C");
    expect(changed["core"]?.expired).toBeNull();
    const now = (boardCelsius: number) => filedCold(log(cold({ aux: 500 }, 20)), { ...at(1), boardCelsius });
    expect(now(31)["aux"]?.expired).toContain("at 20 °C then and at 31 °C");
    expect(now(30)["aux"]?.expired).toBeNull();
  });

  test("a correction counts, and the reading it corrects does not", () => {
    const filed = log(cold({ aux: 12.4 }));
    const wrong = filed[0];
    if (wrong === undefined || wrong.event.kind !== "cold-readings") throw new Error("no event");
    const event: JobEvent = {
      kind: "correction",
      of: wrong.id,
      because: "kilo-ohms",
      event: { ...wrong.event, ohms: { aux: 12_400 } },
    };
    const put = [...filed, ...log(event).map((each) => ({ ...each, seq: 2, id: wrong.id.replace(/1$/, "2") }))];
    expect(filedCold(put, at(1))["aux"]?.ohms).toBe(12_400);
  });
});
