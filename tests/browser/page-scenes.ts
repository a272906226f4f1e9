import type { WireSnapshot } from "../../shared/wire.ts";
import type { WireShop } from "../../shared/wire-shop.ts";
import { hashOf } from "../../web/page/address.ts";
import type { Place } from "../../web/record/places.ts";
import { examplePreview, exampleSnapshot } from "../wire/example-snapshot.ts";
import { scriptedSetup } from "../wire/scripted-setup.ts";
import { exampleOutcome, runningSnapshot, toldVerdict, watchedRun, watchedTrace } from "./example-run.ts";
import { exampleSweep, liveReading, sweepDone } from "./example-sweep.ts";
import { on } from "./open-pages.ts";
import type { PageRig } from "./page-rig.ts";

export const SCENE_JOB = "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e10";

/** A page as a person meets it: what the daemon says, where the page is opened, and what happens then. */
export interface Scene {
  name: string;
  place: Place;
  present: () => WireSnapshot;
  /** Before the page is opened. */
  before?: (rig: PageRig) => void;
  act?: (rig: PageRig) => Promise<unknown>;
  /** What the bench goes on saying while the picture is taken. */
  says?: (rig: PageRig) => void;
}

/** Opens the page on a scene, in the place where a person would see it. */
export async function enterScene(rig: PageRig, scene: Scene): Promise<void> {
  scene.before?.(rig);
  rig.facade.present = scene.present();
  await rig.visit();
  await rig.page.goto(`${rig.page.url().split("#")[0]}${hashOf(SCENE_JOB, scene.place)}`);
  await rig.page.reload();
  await rig.page.locator('.phase[data-phase="live"]').waitFor();
  await rig.page.locator(`places-bar [data-place="${scene.place}"][aria-selected="true"]`).waitFor();
  await scene.act?.(rig);
}

/** Chooses German in the settings, and folds them again. */
export async function inGerman({ page }: PageRig): Promise<void> {
  const fold = page.locator("page-head summary").first();
  if (!(await page.locator("page-head select").isVisible())) await fold.click();
  await page.locator("page-head select").selectOption("de");
  await page.getByRole("tab", { name: /^Vergleich/ }).waitFor();
  await fold.click();
}

export const EXAMPLE_SHOP: WireShop = {
  shop: "Tern Street",
  bench: "north",
  record: {
    reachable: false,
    because: "nothing answers there",
    waiting: 12,
    since: "2026-11-25T09:00:00.000Z",
    lastAt: null,
  },
  live: { reachable: true, because: null, ignored: 3 },
  benches: [
    {
      bench: "south",
      isThis: false,
      state: {
        ...{ is: "here", output: "on", job: null, title: "no picture", stage: "watch" },
        ...{ waitingFor: "the draw to settle", ageMs: 1500 },
      },
      feeds: [{ feed: "aux", output: "on", volts: 11.98, amps: 0.82 }],
      feedsAgeMs: 900,
      lastClass: "core-alive",
    },
    { bench: "east", isThis: false, state: { is: "gone" }, feeds: [], feedsAgeMs: null, lastClass: null },
    { bench: "west", isThis: true, state: null, feeds: [], feedsAgeMs: null, lastClass: null },
  ],
  jobs: [
    {
      ...{ id: SCENE_JOB, title: "no picture", bench: "south", stage: "on-bench", result: null },
      ...{ state: "open", lastEventAt: "2026-11-25T10:00:00.000Z" },
    },
  ],
};

const judged = (): WireSnapshot => ({
  ...exampleSnapshot(),
  run: {
    ...watchedRun(),
    outcome: exampleOutcome(),
    settings: watchedRun().settings.map((each) => ({ ...each, untilMs: each.untilMs ?? 8_600 })),
  },
  trace: [{ feed: "aux", readings: watchedTrace() }],
  verdict: toldVerdict(),
});
const sweeping = (): WireSnapshot => ({ ...runningSnapshot(), sweep: exampleSweep() });
const swept = (): WireSnapshot => {
  const sweep = exampleSweep();
  return { ...judged(), sweep: { ...sweep, lines: [...sweep.lines, sweepDone()] } };
};
const live = (rig: PageRig): void => rig.facade.say(on());

const withoutBench = (): WireSnapshot => {
  const { bench, ...rest } = exampleSnapshot();
  return { ...rest, jobs: [], bench: { ...bench, simulated: false, feeds: [], instruments: [], warnings: [] } };
};

export const SCENES: Scene[] = [
  {
    name: "set-up",
    place: "board",
    present: withoutBench,
    act: async ({ page, facade }) => {
      facade.setup.view = scriptedSetup({
        bench: "none",
        file: null,
        ports: [
          { address: "ASRL/dev/serial/by-id/usb-Bench_supply-if00::INSTR", words: "Bench" },
          { address: "ASRL/dev/ttyS0::INSTR", words: "" },
        ],
        drivers: [{ name: "plain-supply", kind: "supply", describes: "One output, plain commands: VOLT, CURR, OUTP." }],
        rehearsals: [{ name: "normal", title: "a healthy board" }],
      }).view;
      await page.reload();
      await page.getByText("No bench is set up yet").waitFor();
    },
  },
  { name: "board", place: "board", present: judged },
  { name: "cold", place: "cold", present: exampleSnapshot },
  {
    name: "permit",
    place: "power",
    present: exampleSnapshot,
    act: async ({ page, facade }) => {
      facade.reply = async (command) =>
        command.type === "preview" ? { result: "preview", preview: examplePreview() } : { result: "done" };
      await page.getByRole("button", { name: "Take control" }).first().click();
      await page.getByRole("button", { name: "Check the permit" }).click();
      await page.getByText("What will be energised").waitFor();
    },
  },
  { name: "power", place: "power", present: runningSnapshot, says: live },
  { name: "verdict", place: "power", present: judged },
  {
    name: "question",
    place: "power",
    present: () => ({
      ...runningSnapshot(),
      question: {
        question: 4,
        asks: "raise-limit",
        feed: "aux",
        fromAmps: 3,
        toAmps: 5,
        because: "It fell back twice while it rose: 412 ms at the limit of 3 A, 300 ms allowed.",
      },
    }),
    says: live,
  },
  {
    name: "probe",
    place: "probe",
    present: sweeping,
    says: (rig) => {
      live(rig);
      rig.facade.say({ type: "sweep-line", sweep: "sweep-1", line: { ...liveReading("1v8", 1.803) } });
    },
  },
  { name: "probe-next", place: "probe", present: swept },
  { name: "work", place: "work", present: judged },
  {
    name: "compare",
    place: "compare",
    present: judged,
    act: async ({ page }) => {
      await page.getByRole("button", { name: "Compare", exact: true }).click();
      await page.locator("two-traces canvas").last().waitFor();
    },
  },
  {
    name: "shop",
    place: "shop",
    present: exampleSnapshot,
    before: ({ facade }) => {
      facade.shop = async () => EXAMPLE_SHOP;
    },
    act: ({ page }) => page.locator('[data-bench="south"]').waitFor(),
  },
  {
    name: "alarm",
    place: "power",
    present: () => ({
      ...runningSnapshot(),
      alarm: { message: 'Supply "psu" did not confirm off within 500 ms; it is tried again.', output: "unknown" },
    }),
    says: live,
  },
];
