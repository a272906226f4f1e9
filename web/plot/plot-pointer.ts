import { moved, type Span, zoomed } from "./plot-span.ts";

/** The things that a hand at the plot moves. */
export interface PlotHand {
  secondsAt: (clientX: number) => number;
  span: () => Span;
  whole: () => Span;
  isZoomed: () => boolean;
  /** Shows what is read at a moment for as long as the mouse is there. */
  hover: (at: number | null) => void;
  /** Puts the cursor down. */
  cursor: (at: number) => void;
  /** Puts down the cursor that differences count from. */
  base: (at: number) => void;
  look: (span: Span | null) => void;
}

/** Less than this is a click, pixels. */
const CLICK_PX = 4;

/** Mouse, pen and fingers at a plot: a click puts the cursor down, with Shift the second one; a drag moves what is looked at closely; two fingers look closer. */
export class PlotPointer {
  readonly #hand: PlotHand;
  readonly #down = new Map<number, number>();
  #began: { x: number; span: Span } | null = null;
  #dragged = false;

  constructor(hand: PlotHand) {
    this.#hand = hand;
  }

  readonly down = (event: PointerEvent): void => {
    if (event.button !== 0) return;
    this.#down.set(event.pointerId, event.clientX);
    this.#began = { x: event.clientX, span: this.#hand.span() };
    this.#dragged = this.#down.size > 1;
    (event.currentTarget as Element).setPointerCapture(event.pointerId);
  };

  readonly move = (event: PointerEvent): void => {
    const before = this.#down.get(event.pointerId);
    if (before === undefined) return this.#hand.hover(this.#hand.secondsAt(event.clientX));
    if (this.#down.size === 2) return this.#pinch(event);
    this.#down.set(event.pointerId, event.clientX);
    const began = this.#began;
    if (began === null || Math.abs(event.clientX - began.x) < CLICK_PX) return;
    this.#dragged = true;
    // A finger has no other way to move the cursor.
    if (event.pointerType === "touch" || !this.#hand.isZoomed())
      return this.#hand.cursor(this.#hand.secondsAt(event.clientX));
    const by = this.#hand.secondsAt(before) - this.#hand.secondsAt(event.clientX);
    this.#hand.look(moved(this.#hand.span(), this.#hand.whole(), by));
  };

  readonly up = (event: PointerEvent): void => {
    const wasDown = this.#down.delete(event.pointerId);
    if (wasDown && !this.#dragged && event.type === "pointerup") {
      const put = event.shiftKey ? this.#hand.base : this.#hand.cursor;
      put(this.#hand.secondsAt(event.clientX));
    }
    if (this.#down.size === 0) this.#began = null;
  };

  readonly leave = (event: PointerEvent): void => {
    if (event.pointerType === "mouse" && this.#down.size === 0) this.#hand.hover(null);
  };

  #pinch(event: PointerEvent): void {
    const apart = (): number => {
      const [a = 0, b = 0] = [...this.#down.values()];
      return Math.max(8, Math.abs(a - b));
    };
    const before = apart();
    this.#down.set(event.pointerId, event.clientX);
    const [a = 0, b = 0] = [...this.#down.values()];
    const at = this.#hand.secondsAt((a + b) / 2);
    this.#hand.look(zoomed(this.#hand.span(), this.#hand.whole(), { at, factor: before / apart() }));
  }
}
