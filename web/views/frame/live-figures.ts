import type { PageState } from "../../page/page-state.ts";
import { untilBeat } from "../../page/shared-beat.ts";
import type { PowerView } from "../power/power-view.ts";
import type { FeedStrip } from "./feed-strip.ts";

/** Hands the figures to their strips, and to the curve where it is in sight: as often as an eye follows, however often they come. */
export class LiveFigures {
  readonly #root: () => ParentNode;
  readonly #state: () => PageState;
  #later: ReturnType<typeof setTimeout> | undefined;

  constructor(root: () => ParentNode, state: () => PageState) {
    this.#root = root;
    this.#state = state;
  }

  /** Something came. */
  take(): void {
    this.#later ??= setTimeout(() => this.#show(), untilBeat());
  }

  #show(): void {
    this.#later = undefined;
    const { feeds } = this.#state();
    for (const strip of this.#root().querySelectorAll<FeedStrip>("feed-strip")) {
      const known = feeds[strip.feed.feed];
      if (known !== undefined) strip.state = known;
    }
    this.#root().querySelector<PowerView>("power-view:not([hidden])")?.figures();
  }
}
