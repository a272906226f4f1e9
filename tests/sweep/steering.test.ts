import { describe, expect, test } from "vitest";
import { Driven, point } from "./one-point.ts";

const three = [point("5v", 5), point("1v8", 1.8), point("core", 0.85)];
const names = (driven: Driven): [number, string][] => driven.captures.map((each) => [each.index, each.how]);

describe("contact", () => {
  test("a change beyond 5 mV that holds 300 ms is a contact, one that lets go before is not", () => {
    const driven = new Driven(three).reads(0, 500).reads(5, 250).reads(0, 400);
    expect(driven.captures).toEqual([]);
    driven.reads(5, 600);
    expect(names(driven)).toEqual([[0, "contact"]]);
    expect(driven.captures[0]?.value).toBeCloseTo(5, 3);
    expect(driven.captures[0]?.tookMs).toBeLessThan(600);
  });

  test("less than 5 mV from the lifted reading is none, however long it holds; nothing is ever recorded without one", () => {
    const driven = new Driven(three).reads(0.002, 500).reads(0.006, 60_000);
    expect(driven.captures).toEqual([]);
    // What is read in the air is followed as it drifts.
    expect(driven.reads(0.012, 1000).captures).toHaveLength(1);
  });

  test("the meter's own noise, learned in the air, widens it to six sigma", () => {
    let flip = 1;
    // ±4 mV about zero: σ is 4 mV or more, six of it 24 mV.
    const noisy = (about: number) => (): number => {
      flip = -flip;
      return about + 0.004 * flip;
    };
    const driven = new Driven(three).reads(noisy(0), 1000).reads(noisy(0.015), 3000);
    expect(driven.captures).toEqual([]);
    expect(driven.reads(noisy(0.06), 3000).captures).toHaveLength(1);
  });

  test("the flicker of a meter's last digit is noise too", () => {
    // 10 mV steps: mostly 0, sometimes 10 mV, for long enough to hold 300 ms now and then.
    let count = 0;
    const coarse = (): number => (++count % 5 === 0 ? 0.01 : 0);
    const driven = new Driven(three).reads(coarse, 2000).reads(0.01, 2000);
    expect(driven.captures).toEqual([]);
  });

  test("a reading that still moves is not taken; it is taken once it rests", () => {
    const settling = (ms: number): number => 1.8 * (1 - Math.exp(-ms / 400));
    const driven = new Driven([point("1v8", 1.8)]).reads(0, 500).reads(settling, 900);
    expect(driven.captures).toEqual([]);
    driven.reads((ms) => settling(ms + 900), 3000);
    expect(driven.captures[0]?.value).toBeGreaterThan(1.78);
  });

  test("the next point's contact counts only after the probe was seen in the air for 200 ms", () => {
    const driven = new Driven(three).reads(0, 500).reads(5, 600);
    // A bounce of 100 ms, then on the same point for long: nobody has gone anywhere.
    driven.reads(0, 100).reads(5, 5000);
    expect(names(driven)).toEqual([[0, "contact"]]);
    expect(driven.of("place-probe").map((each) => each.index)).toEqual([0]);
    driven.reads(0, 300).reads(1.8, 600);
    expect(driven.of("place-probe").map((each) => each.index)).toEqual([0, 1]);
    expect(names(driven)).toEqual([
      [0, "contact"],
      [1, "contact"],
    ]);
  });

  test("a hand that is not seen to lift is told the next point after two seconds all the same", () => {
    const driven = new Driven(three).reads(0, 500).reads(5, 600).reads(5, 1800).tick(200);
    expect(driven.of("place-probe").map((each) => each.index)).toEqual([0, 1]);
    expect(driven.captures).toHaveLength(1);
  });

  test("more than the range holds is measured again in a wider one", () => {
    const wide = { ...three[2]?.setting, rangeUpTo: 15 } as NonNullable<(typeof three)[number]["wideSetting"]>;
    const driven = new Driven([point("core", 0.85, { wideSetting: wide })]).reads(0, 500).reads(null, 400);
    // Some more of the narrow range are on their way and mean nothing.
    expect(driven.of("measure").at(-1)?.setting.rangeUpTo).toBe(15);
    driven.reads(12, 900);
    expect(driven.captures[0]?.value).toBeCloseTo(12, 2);
  });
});

describe("questions", () => {
  test("a value that fails its rail and fits another is asked about once, and the second is taken", () => {
    const driven = new Driven(three).reads(0, 500).reads(1.8, 600);
    expect(driven.of("question")).toMatchObject([{ index: 0, fits: "1v8" }]);
    expect(driven.captures).toEqual([]);
    // Stays on: after three seconds it is taken as it is.
    driven.reads(1.8, 3500);
    expect(driven.of("question")).toHaveLength(1);
    expect(driven.captures[0]?.value).toBeCloseTo(1.8, 3);
    expect(driven.captures[0]?.questioned?.because).toContain("1v8");
  });

  test("the probe that lifts after a question is waited for, and its next contact is the value", () => {
    const driven = new Driven(three).reads(0, 500).reads(1.8, 600).reads(0, 400).reads(5, 600);
    expect(driven.captures[0]?.value).toBeCloseTo(5, 3);
    expect(driven.captures[0]?.questioned?.value).toBeCloseTo(1.8, 3);
  });

  test("a value that fails its rail and fits none is not asked about", () => {
    const driven = new Driven(three).reads(0, 500).reads(3.1, 600);
    expect(driven.of("question")).toEqual([]);
    expect(driven.captures).toHaveLength(1);
  });

  test("a value equal to the last to the digit is asked about, above 20 mV; below, two dead rails are two dead rails", () => {
    const alike = [point("1v8", 1.8), point("1v8-io", 1.8), point("a", 0.9), point("b", 0.95)];
    const driven = new Driven(alike).reads(0, 500).reads(1.8, 600).reads(0, 400).reads(1.8, 600);
    expect(driven.of("question")).toMatchObject([{ index: 1, fits: "1v8" }]);
    driven.reads(1.8, 3500).reads(0, 400).reads(0.012, 600).reads(0, 400).reads(0.012, 600);
    expect(driven.of("question")).toHaveLength(1);
    expect(driven.captures).toHaveLength(4);
  });
});

describe("words", () => {
  test("take takes what reads nothing, and the next point is named without a lift that could not be seen", () => {
    const driven = new Driven(three).reads(0, 2000).say("take").reads(0, 600);
    expect(driven.captures[0]).toMatchObject({ index: 0, how: "take", moving: "no" });
    expect(driven.captures[0]?.value).toBeCloseTo(0, 3);
    expect(
      driven
        .reads(0, 100)
        .of("place-probe")
        .map((each) => each.index),
    ).toEqual([0, 1]);
  });

  test("take of a value that does not come to rest takes it after 1.5 s, marked", () => {
    let flip = 1;
    const pulsing = (): number => {
      flip = -flip;
      return 2.5 + 2 * flip;
    };
    const driven = new Driven(three).reads(0, 500).reads(pulsing, 2000);
    expect(driven.captures).toEqual([]);
    driven.say("take").reads(pulsing, 1800);
    expect(driven.captures[0]).toMatchObject({ how: "take", moving: "unsteady" });
  });

  test("skip and cannot-reach go on without a value; stop ends it", () => {
    const driven = new Driven(three).reads(0, 500).say("skip").reads(0, 400).say("cannot-reach").say("stop");
    expect(names(driven)).toEqual([
      [0, "skipped"],
      [1, "cannot-reach"],
    ]);
    expect(driven.captures.every((each) => each.value === null)).toBe(true);
    expect(driven.of("finished")).toEqual([{ effect: "finished", ended: "stopped" }]);
    expect(driven.reads(5, 2000).captures).toHaveLength(2);
  });

  test("redo measures the last one again as its correction, then goes on where it was", () => {
    const driven = new Driven(three)
      .reads(0, 500)
      .reads(4.2, 600)
      .reads(0, 400)
      .say("redo")
      .reads(0, 400)
      .reads(5, 600);
    expect(driven.captures.map((each) => [each.index, each.corrects])).toEqual([
      [0, false],
      [0, true],
    ]);
    driven.reads(0, 400).reads(1.8, 600).reads(0, 400).reads(0.85, 600);
    expect(driven.captures.map((each) => each.index)).toEqual([0, 0, 1, 2]);
    expect(driven.of("finished")).toEqual([{ effect: "finished", ended: "all-visited" }]);
  });

  test("without a meter each point is named at once and its typed value goes on; another quantity is told off", () => {
    const driven = new Driven(three, false);
    expect(driven.of("place-probe").map((each) => each.index)).toEqual([0]);
    driven.type("ohms", 4).type("volts", 5.01).type("volts", 1.81).type("volts", 0.86);
    expect(driven.captures.map((each) => [each.value, each.how])).toEqual([
      [5.01, "typed"],
      [1.81, "typed"],
      [0.86, "typed"],
    ]);
    expect(driven.of("hint")).toHaveLength(1);
    expect(driven.of("measure")).toEqual([]);
  });

  test("while the board is off nothing counts but stop; back on, it goes on at the same point, from the air", () => {
    const driven = new Driven(three).reads(0, 500).reads(5, 150).pause();
    driven.reads(5, 5000).say("take").say("skip").type("volts", 5).reads(5, 2000);
    expect(driven.captures).toEqual([]);
    driven.resume().reads(5, 1000);
    expect(driven.captures).toEqual([]);
    driven.reads(0, 500).reads(5, 600);
    expect(driven.captures.map((each) => each.index)).toEqual([0]);
    expect(driven.pause().say("stop").of("finished")).toHaveLength(1);
  });
});

describe("ohms", () => {
  const core = point("core", 0.7, { quantity: "ohms", low: 0.1, high: 5 });
  const input = point("aux", 5000, { quantity: "ohms", low: 300, high: 100_000 });

  test("an open probe is the air; a point that reads open needs the word, and is open, not a number", () => {
    const driven = new Driven([core, input]).reads(null, 3000);
    expect(driven.captures).toEqual([]);
    driven.say("take").reads(null, 400);
    expect(driven.captures[0]).toMatchObject({ value: null, overload: true, how: "take" });
  });

  test("a charging node past its low limit is taken at once, as rising, with how fast it still rises", () => {
    const charging = (ms: number): number => 12_000 * (1 - Math.exp(-ms / 4000));
    const driven = new Driven([input]).reads(null, 500).reads(charging, 1500);
    const [taken] = driven.captures;
    expect(taken).toMatchObject({ how: "contact", moving: "rising" });
    expect(taken?.value ?? 0).toBeGreaterThan(300);
    expect(taken?.value ?? 0).toBeLessThan(12_000 * (1 - Math.exp(-1500 / 4000)) + 1);
    // 12 kΩ / 4 s at the start (arithmetic).
    expect(taken?.risePerSecond ?? 0).toBeGreaterThan(1500);
    expect(taken?.risePerSecond ?? 0).toBeLessThan(3100);
  });

  test("is waited for where it may end above its high limit, until the way it slows down tells that it does not", () => {
    // 12 kΩ and 2 mF, τ = 24 s: at first 500 Ω/s, which 4 mF and an open input do too.
    const node = point("aux", 5000, { quantity: "ohms", low: 300, high: 100_000, mostFarads: 0.004 });
    const charging = (ms: number): number => 12_000 * (1 - Math.exp(-ms / 24_000));
    const driven = new Driven([node]).reads(null, 500).reads(charging, 900);
    expect(driven.captures).toEqual([]);
    driven.reads((ms) => charging(900 + ms), 9000);
    const [taken] = driven.captures;
    expect(taken).toMatchObject({ how: "contact", moving: "rising" });
    expect(Math.abs((taken?.end?.value ?? 0) - 12_000)).toBeLessThan(taken?.end?.expanded ?? 0);
    expect((taken?.end?.value ?? 0) + (taken?.end?.expanded ?? 0)).toBeLessThan(100_000);
    expect(taken?.tookMs ?? 0).toBeLessThan(10_000);
  });

  test("an open input behind a capacitor is never taken for one that ends in its limits: after 15 s as still rising, sooner as open", () => {
    const node = point("aux", 5000, { quantity: "ohms", low: 300, high: 100_000, mostFarads: 0.004 });
    // 2 mF alone: 500 Ω/s without end.
    const alone = new Driven([node]).reads(null, 500).reads((ms) => 0.5 * ms, 14_000);
    expect(alone.captures).toEqual([]);
    alone.reads((ms) => 7000 + 0.5 * ms, 1500);
    expect(alone.captures[0]).toMatchObject({ how: "contact", moving: "rising", overload: false });
    expect(alone.captures[0]?.end).toBeUndefined();
    // 10 µF alone: over every range before that, and "take" says that the probe is on it.
    const small = new Driven([node])
      .reads(null, 500)
      .reads((ms) => 100 * ms, 1000)
      .reads(null, 600);
    expect(small.captures).toEqual([]);
    expect(small.say("take").reads(null, 400).captures[0]).toMatchObject({ value: null, overload: true });
  });

  test("a charging node under its low limit is waited for, and the word takes it as still rising", () => {
    const charging = (ms: number): number => 250 * (1 - Math.exp(-ms / 4000));
    const driven = new Driven([input]).reads(null, 500).reads(charging, 5000);
    expect(driven.captures).toEqual([]);
    expect(driven.of("hint").map((each) => each.text)).toEqual([expect.stringContaining("still rising")]);
    const word = new Driven([input]).reads(null, 500).reads(charging, 1000).say("take");
    word.reads((ms) => charging(1000 + ms), 1800);
    expect(word.captures[0]).toMatchObject({ how: "take", moving: "rising" });
  });

  test("a charged point is said to be discharged first, and never taken", () => {
    const driven = new Driven([core]).reads(null, 500).reads(null, 1000, { kind: "charged", nodeVolts: 3 });
    expect(driven.captures).toEqual([]);
    expect(driven.of("hint").map((each) => each.text)).toEqual([
      expect.stringContaining("discharge it first (3000 mV on it)"),
    ]);
    expect(driven.reads(null, 300).reads(0.4, 500).captures[0]?.value).toBeCloseTo(0.4, 2);
  });
});
