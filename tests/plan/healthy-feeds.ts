import { converter, type ModelFeed, resistor, together } from "./bench-model.ts";

/** Feeds of a board that starts at its first limits: made anew for each run, since converters remember. */
export const healthyFeeds = (): Record<string, ModelFeed> => ({
  slot3v3: { farads: 0.0003, leadOhms: 0.05, load: resistor(900) },
  slot12: { farads: 0.0008, leadOhms: 0.05, load: together(resistor(8000), converter(6, [7.5, 7])) },
  aux: { farads: 0.002, leadOhms: 0.05, load: together(resistor(12_400), converter(14, [7.5, 7])) },
});
