import { DrawClass } from "../../shared/draw-verdict.ts";
import { MECHANISMS } from "./study-board.ts";
import { type Bin, figuresOf, reliabilityOf, SPEEDS, type SpeedFigures } from "./study-figures.ts";
import type { StudyOutcome } from "./study-part.ts";

const percent = (share: number, digits = 1): string => `${(100 * share).toFixed(digits)} %`;

/** The report of a study as Markdown; the picture stands beside it as `verdict-study.svg`. */
export function studyReport(
  outcomes: readonly StudyOutcome[],
  run: { seed: number; trainingSeed: number; training: number },
): string {
  const all = figuresOf(outcomes);
  const line = (name: string, figures: SpeedFigures) =>
    `| ${name} | ${figures.n} | ${percent(figures.cannotTell)} | ${figures.resolvable} | ${percent(figures.rightShare, 2)} | ${percent(figures.cannotTellShare, 2)} | ${figures.healthyResolvable} | ${figures.healthy - figures.healthyResolvable} | ${figures.calibrationError.toFixed(3)} |`;
  const confusion = MECHANISMS.map((mechanism) => {
    const rows = outcomes.filter((each) => each.mechanism === mechanism);
    const cells = DrawClass.options.map((name) => rows.filter((each) => each.class === name).length);
    const seen = rows.filter(({ resolvable }) => resolvable);
    const right = seen.filter((each) => each.right).length;
    return `| ${mechanism} | ${rows.length} | ${cells.map((count) => (count === 0 ? "" : count)).join(" | ")} | ${seen.length} | ${percent(right / Math.max(1, seen.length))} |`;
  });
  const open = outcomes.filter((each) => each.class === "cannot-tell");
  return `# The draw verdict, measured

*For whoever wants to know how often a verdict is right. Next: [Study of the next measurement](diagnosis-study.md).*

Made by \`npm run study\`; do not edit. ${outcomes.length} simulated first power-ups (seed ${run.seed}), each with a board, a meter and noise of its own.
The probabilities were calibrated on ${run.training} others (seed ${run.trainingSeed}).

What is drawn: kinds of boards whose healthy current differs by a factor of four; boards within a kind; input capacitors of 0.5–4 mF; leads of
20–150 mΩ, known or not; meters that read every 5–300 ms with up to 30 % jitter, in steps of 1 or 10 mA, with and without filter, with noise of
0.1–3 mA and errors within their accuracy; volts and amps read together or one interval apart; supplies that say their mode or do not, rise in 3–100 ms, and
enter their limit at once or after up to 20 ms; watches of 8, 15 and 75 s; healthy boards that warm by 2–8 %; draws that move by about 0.4 % of themselves from reading to reading; runs stopped by what
the meter read of them. How often each fault comes in a shop is not known:
the shares are common practice, no source, and the probabilities are as weak as they are.

## By pace of the meter

"Can be told" leaves out what this meter cannot see (a level within three standard uncertainties of a band's edge, pulses shorter than a reading or a period under
three and a half readings, a climb within steps and noise) and what one try cannot decide (a feed that stays in its limit, a contact that comes and goes). "Called
healthy" counts shorts, overloads, retries and climbs that were given \`normal\` or \`core-alive\`: where the meter can see them, and where it cannot.

| read every | power-ups | cannot tell | can be told | right | cannot tell there | called healthy, seen | called healthy, beyond the meter | calibration error |
|---|---|---|---|---|---|---|---|---|
${SPEEDS.map(([from, to]) =>
  line(
    `${from}–${Math.floor(to / 5) * 5} ms`,
    figuresOf(outcomes.filter(({ intervalMs }) => intervalMs >= from && intervalMs < to)),
  ),
).join("\n")}
${line("all", all)}

## What was called what

One row for each thing that is the case. The last two columns: how many of them this meter can resolve, and how many of those got the right answer
(for \`limited\`, \`start-demand\` and \`intermittent\` that is \`cannot-tell\` with the truth among its candidates, or better).

| case | n | ${DrawClass.options.join(" | ")} | resolvable | right |
|---|---|${DrawClass.options.map(() => "---|").join("")}---|---|
${confusion.join("\n")}

Of the ${open.length} that were \`cannot-tell\`, ${open.filter(({ candidates }) => candidates.length < 2).length} name fewer than two candidates.

## Wrong ones

${wrongOnes(outcomes)}

## Whether the probabilities hold

![Said against found: the likeliest candidate's probability](verdict-study.svg)

Expected calibration error of the likeliest candidate, ten bins: **${all.calibrationError.toFixed(3)}**.

| said | n | mean said | found true |
|---|---|---|---|
${reliabilityOf(outcomes)
  .bins.map((bin, index) =>
    bin.n === 0
      ? null
      : `| ${index / 10}–${(index + 1) / 10} | ${bin.n} | ${(bin.said / bin.n).toFixed(3)} | ${(bin.found / bin.n).toFixed(3)} |`,
  )
  .filter((each) => each !== null)
  .join("\n")}
`;
}

/** More than these are counted, not listed. */
const MOST_LISTED = 60;

function wrongOnes(outcomes: readonly StudyOutcome[]): string {
  const wrong = outcomes.filter((each) => (each.resolvable && !each.right) || each.healthy);
  if (wrong.length === 0) return "None that the meter could resolve, and none called healthy.";
  const rows = wrong.slice(0, MOST_LISTED).map((each) => {
    const named = each.candidates.map(({ class: name, probability }) => `${name} ${probability.toFixed(2)}`);
    return `| ${each.index} | ${each.mechanism} | ${each.class} | ${named.join(", ")} | ${each.intervalMs.toFixed(0)} ms | ${each.resolvable ? "yes" : "no"} |`;
  });
  const rest = wrong.length > rows.length ? `\n\n${wrong.length - rows.length} more.` : "";
  return `Every one that the meter could resolve and that was not right, and every fault called healthy. \`npm run study -- --show N\` tells
all of one.

| N | case | called | candidates | read every | resolvable |
|---|---|---|---|---|---|
${rows.join("\n")}${rest}`;
}

const SIDE = 320;
const EDGE = 44;

/** The reliability diagram: a dot a bin, as large as it is full, on the diagonal where what is said holds. */
export function reliabilityPicture(bins: readonly Bin[]): string {
  const place = (share: number) => share * SIDE;
  const total = bins.reduce((sum, bin) => sum + bin.n, 0);
  const dots = bins
    .filter(({ n }) => n > 0)
    .map((bin) => {
      const [x, y] = [EDGE + place(bin.said / bin.n), EDGE + SIDE - place(bin.found / bin.n)];
      const spread = 1.96 * Math.sqrt(((bin.found / bin.n) * (1 - bin.found / bin.n)) / bin.n) * SIDE;
      return `<line x1="${x.toFixed(1)}" x2="${x.toFixed(1)}" y1="${(y - spread).toFixed(1)}" y2="${(y + spread).toFixed(1)}" stroke="#1b5e8a"/><circle cx="${x.toFixed(1)}" cy="${y.toFixed(1)}" r="${(3 + 12 * Math.sqrt(bin.n / total)).toFixed(1)}" fill="#1b5e8a" fill-opacity="0.7"><title>${bin.n} power-ups</title></circle>`;
    });
  const marks = [0, 0.25, 0.5, 0.75, 1].map(
    (share) =>
      `<text x="${EDGE + place(share)}" y="${EDGE + SIDE + 18}" text-anchor="middle">${share}</text><text x="${EDGE - 8}" y="${EDGE + SIDE - place(share) + 4}" text-anchor="end">${share}</text>`,
  );
  const size = SIDE + 2 * EDGE;
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${size} ${size}" width="${size}" height="${size}" font-family="sans-serif" font-size="12" role="img" aria-label="Probability said against share found true">
<rect width="${size}" height="${size}" fill="#fff"/>
<rect x="${EDGE}" y="${EDGE}" width="${SIDE}" height="${SIDE}" fill="none" stroke="#444"/>
<line x1="${EDGE}" y1="${EDGE + SIDE}" x2="${EDGE + SIDE}" y2="${EDGE}" stroke="#888" stroke-dasharray="4 4"/>
${dots.join("\n")}
${marks.join("\n")}
<text x="${EDGE + SIDE / 2}" y="${size - 6}" text-anchor="middle">probability said</text>
<text x="14" y="${EDGE + SIDE / 2}" text-anchor="middle" transform="rotate(-90 14 ${EDGE + SIDE / 2})">share found true</text>
</svg>
`;
}
