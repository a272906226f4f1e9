/** A window of time, seconds. */
export interface Span {
  from: number;
  to: number;
}

/** Nothing is looked at more closely, seconds. */
const LEAST = 0.001;

/** The window moved and narrowed so that it lies within the whole. */
export function within(span: Span, whole: Span): Span {
  const most = Math.max(LEAST, whole.to - whole.from);
  const width = Math.min(most, Math.max(LEAST, span.to - span.from));
  const from = Math.min(Math.max(span.from, whole.from), whole.from + most - width);
  return { from, to: from + width };
}

/** The window `factor` times as wide, with what is at `at` staying in its place. */
export function zoomed(span: Span, whole: Span, { at, factor }: { at: number; factor: number }): Span {
  const width = span.to - span.from;
  const next = Math.min(whole.to - whole.from, Math.max(LEAST, width * factor));
  const from = at - ((at - span.from) / width) * next;
  return within({ from, to: from + next }, whole);
}

/** The window `by` seconds later. */
export const moved = (span: Span, whole: Span, by: number): Span =>
  within({ from: span.from + by, to: span.to + by }, whole);

/** True where the window is the whole, but for what arithmetic leaves. */
export const isWhole = (span: Span, whole: Span): boolean => span.to - span.from >= (whole.to - whole.from) * 0.999_999;
