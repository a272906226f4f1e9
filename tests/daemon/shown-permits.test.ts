import { describe, expect, test } from "vitest";
import type { StoredEvent } from "../../shared/record/job.ts";
import { ShownPermits } from "../../src/daemon/page/shown-permits.ts";
import { statedAges } from "../../src/daemon/page/stated-ages.ts";
import { exampleRequest } from "../wire/example-snapshot.ts";

const bench = (address: string) => ({
  version: 1 as const,
  instruments: { psu: { kind: "supply" as const, address, driver: "auto" } },
  feeds: { aux: { supply: "psu", channel: 1, sense: "local" as const, readsAtSense: "unknown" as const } },
});
const A = { ...exampleRequest(), job: "a" };
const B = { ...exampleRequest(), job: "b" };

describe("a permit", () => {
  test("that was shown for one job starts no other, nor another board, bench or session", () => {
    const permits = new ShownPermits();
    permits.show("page-1", A, bench("one"));
    const refused = (session: string, request: typeof A, at = "one") => permits.refusal(session, request, bench(at));
    expect(refused("page-1", A)).toBeNull();
    expect(refused("page-1", B)).toMatchObject({
      code: "other-permit",
      because: expect.stringContaining("another job"),
    });
    expect(refused("page-1", { ...A, board: "{}" })).toMatchObject({
      because: expect.stringContaining("another board"),
    });
    expect(refused("page-1", A, "two")).toMatchObject({ because: expect.stringContaining("another bench") });
    expect(refused("page-2", A)).toMatchObject({ because: expect.stringContaining("the permit has not been checked") });
  });

  test("may be waived and watched otherwise than it was shown: the daemon asks it again", () => {
    const permits = new ShownPermits();
    permits.show("page-1", A, bench("one"));
    const changed = { ...A, waiver: { reason: "no pad in reach", items: ["polarity"] }, watchSeconds: 5 };
    expect(permits.refusal("page-1", changed, bench("one"))).toBeNull();
  });

  test("is used up by a run that begins, and by a repair of its job", () => {
    const permits = new ShownPermits();
    for (const request of [A, B]) permits.show("page-1", request, bench("one"));
    permits.boardChanged("a");
    expect([permits.refusal("page-1", A, bench("one")) === null, permits.refusal("page-1", B, bench("one"))]).toEqual([
      false,
      null,
    ]);
    permits.useUp();
    expect(permits.refusal("page-1", B, bench("one"))).not.toBeNull();
  });
});

describe("a statement", () => {
  const log = (recordedAt: string, event: StoredEvent["event"]): StoredEvent[] => [
    { id: "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e10", seq: 1, recordedAt, event },
  ];
  const nowMs = Date.parse("2026-11-25T10:30:00.000Z");
  const said = (at: string, job = "a") => ({ ...A, stated: { polarityChecked: { at, job } } });

  test("has the age of its own time, and none where none was said", () => {
    expect(statedAges(said("2026-11-25T10:20:00.000Z"), [], nowMs)).toEqual({ ages: { polarityChecked: 600_000 } });
    expect(statedAges(A, [], nowMs)).toEqual({ ages: {} });
  });

  test("of another job, or from before a repair, counts no more", () => {
    const repaired = log("2026-11-25T10:25:00.000Z", { kind: "repair", text: "Q12 replaced", parts: [] });
    expect(statedAges(said("2026-11-25T10:20:00.000Z", "b"), [], nowMs)).toMatchObject({
      because: expect.stringContaining("another job"),
    });
    expect(statedAges(said("2026-11-25T10:20:00.000Z"), repaired, nowMs)).toMatchObject({
      because: expect.stringContaining("before a repair"),
    });
    expect(statedAges(said("2026-11-25T10:26:00.000Z"), repaired, nowMs)).toEqual({
      ages: { polarityChecked: 240_000 },
    });
  });

  test("is refused while a clock is a day off, whichever way, and says that it is the clock", () => {
    expect(statedAges(said("2026-11-26T10:20:00.000Z"), [], nowMs)).toMatchObject({
      because: expect.stringContaining("a clock was changed"),
    });
    const tomorrow = log("2026-11-26T10:25:00.000Z", { kind: "repair", text: "Q12 replaced", parts: [] });
    expect(statedAges(said("2026-11-25T10:20:00.000Z"), tomorrow, nowMs)).toMatchObject({
      because: expect.stringContaining("set it right"),
    });
  });
});
