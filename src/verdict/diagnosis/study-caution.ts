import figures from "./study-figures.json" with { type: "json" };

const percent = (share: number): string => `${Math.round(share * 100)} %`;

/** How far to trust the probabilities: what a study of the fault finder on simulated boards found, one sentence for beside the numbers. */
export const studyCaution = (): string =>
  `The probabilities are estimates and are not calibrated on real repairs. In a study on ${figures.boards} simulated boards, a wrong fault came first with ${percent(figures.confidence)} or more at some time in ${percent(figures.misledShare)} of searches, and in ${percent(figures.misledShareRailsNormal)} of those where every rail is normal.`;
