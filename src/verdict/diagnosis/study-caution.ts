import figures from "./study-figures.json" with { type: "json" };

const percent = (share: number): string => `${Math.round(share * 100)} %`;

/** A caution to stand beside the probabilities, one sentence: what a study of the fault finder on simulated boards found. */
export const studyCaution = (): string =>
  `The probabilities are estimates and are not calibrated on real repairs. In a study on ${figures.boards} simulated boards, a wrong fault came first with ${percent(figures.confidence)} or more at some time in ${percent(figures.misledShare)} of searches, and in ${percent(figures.misledShareRailsNormal)} of those where every rail is normal.`;
