import type { PageState } from "../../page/page-state.ts";
import { untilBeat } from "../../page/shared-beat.ts";
import type { PowerView } from "../power/power-view.ts";
import type { FeedStrip } from "./feed-strip.ts";

/** Hands the figures to their strips, and to the curve where it is in sight: as often as an eye follows, however often they come. */
export class LiveFigures {
  readonly #root: () => ParentNode;
  readonly #state: () => PageState;
  readonly #onFirst: () => void;
  #hasShown = false;
  #later: ReturnType<typeof setTimeout> | undefined;

  /** `onFirst` is called once the first figures are on the screen. */
  constructor(root: () => ParentNode, state: () => PageState, onFirst: () => void) {
    this.#root = root;
    this.#state = state;
    this.#onFirst = onFirst;
  }

  /** Something came. The first figures of all wait for no beat. */
  take(): void {
    if (this.#hasShown) {
      this.#later ??= setTimeout(() => this.#show(), untilBeat());
      return;
    }
    this.#hasShown = true;
    this.#show();
    requestAnimationFrame(() => void setTimeout(this.#onFirst));
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
