import { say } from "../words/shell.ts";
import type { PowerState } from "./power-state.ts";

const WORDS: Record<PowerState, () => string> = {
  on: () => `● ${say("word.on")}`,
  off: () => "",
  between: () => `◐ ${say("word.between")}`,
  ending: () => `… ${say("title.ending")}`,
  unknown: () => `? ${say("title.unknown")}`,
  "no-bench": () => "",
};
const MARKS: Partial<Record<PowerState, string>> = {
  on: new URL("../mark-on.svg", import.meta.url).href,
  between: new URL("../mark-doubt.svg", import.meta.url).href,
  ending: new URL("../mark-doubt.svg", import.meta.url).href,
  unknown: new URL("../mark-doubt.svg", import.meta.url).href,
};
const USUAL = new URL("../mark.svg", import.meta.url).href;

/** The window's title and mark, for whoever looks at another window: what is true of the outputs, then the job. */
export class PageMark {
  #shown = "";

  show(power: PowerState, job: string): void {
    const title = [WORDS[power](), job, "firstamp"].filter((each) => each !== "").join(" · ");
    if (title === this.#shown) return;
    this.#shown = title;
    document.title = title;
    const link = document.querySelector<HTMLLinkElement>('link[rel="icon"]');
    if (link !== null) link.href = MARKS[power] ?? USUAL;
  }
}
