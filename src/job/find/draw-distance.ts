import type { Expression, ExpressionBuilder } from "kysely";
import type { DrawRow, JobTables } from "../database/job-tables.ts";

/** Figures beside the plateau are known to about this share, as they depend on when the meter read (common practice, no source). */
const SHARE = 0.1;
const FIGURES = ["peak_amps", "charge_coulombs", "input_farads", "short_ohms", "period_ms"] as const;
/** A figure that only one of two has counts as this many uncertainties. */
const LACKING = 3;
/** No uncertainty is less than these, amps and any unit. */
const LEAST_AMPS = 1e-6;
const LEAST = 1e-12;

/** The distance of two draws, in standard uncertainties: the root mean square over the figures that either of them has. */
export function distanceOf(a: DrawRow, b: DrawRow): number {
  const off: number[] = [];
  if (a.plateau_amps !== null && b.plateau_amps !== null)
    off.push((a.plateau_amps - b.plateau_amps) / Math.max(LEAST_AMPS, Math.hypot(a.plateau_u ?? 0, b.plateau_u ?? 0)));
  for (const figure of FIGURES) {
    const [one, other] = [a[figure], b[figure]];
    if (one === null && other === null) continue;
    if (one === null || other === null) off.push(LACKING);
    else off.push((one - other) / Math.max(LEAST, SHARE * Math.hypot(one, other)));
  }
  return off.length === 0 ? 0 : Math.hypot(...off) / Math.sqrt(off.length);
}

/** The amps that the plateau of a draw may be off that is no further than `distance`; `mostUnsure`: the most unsure plateau there is. */
export const reachOf = (own: DrawRow, distance: number, mostUnsure: number): number =>
  // A little more, since the last digits of both ways of reckoning differ.
  1.000_001 *
  distance *
  Math.max(LEAST_AMPS, Math.hypot(own.plateau_u ?? 0, mostUnsure)) *
  Math.sqrt(1 + FIGURES.length);

type Each = ExpressionBuilder<JobTables, "draw">;
type Figure = Expression<number | null>;

/**
 * The square of `distanceOf` a draw, for the database to order by: of the thousands whose plateaus are near, only the nearest need
 * be read.
 */
export function squareOfDistance(each: Each, own: DrawRow): Expression<number> {
  const squares: Figure[] = [];
  const counts: Figure[] = [];
  const number = (value: number): Figure => each.lit(value);
  const square = (value: Figure): Figure => each.parens(each(value, "*", value)) as Figure;
  const plus = (one: Figure, other: Figure): Figure => each.parens(each(one, "+", other)) as Figure;
  const minus = (one: Figure, other: Figure): Figure => each.parens(each(one, "-", other)) as Figure;
  const atLeast = (value: Figure, least: number): Figure =>
    each.case().when(value, ">", number(least)).then(value).else(number(least)).end() as Figure;
  const share = (off: Figure, unsure: Figure): Figure => each.parens(each(square(off), "/", unsure)) as Figure;

  if (own.plateau_amps !== null) {
    const unsure = plus(square(each.fn.coalesce("plateau_u", number(0)) as Figure), number((own.plateau_u ?? 0) ** 2));
    squares.push(share(minus(each.ref("plateau_amps"), number(own.plateau_amps)), atLeast(unsure, LEAST_AMPS ** 2)));
    counts.push(number(1));
  }
  for (const name of FIGURES) {
    const [figure, value] = [each.ref(name) as Figure, own[name]];
    const isLacking = each.case().when(figure, "is", null);
    if (value === null) {
      squares.push(
        isLacking
          .then(number(0))
          .else(number(LACKING ** 2))
          .end() as Figure,
      );
      counts.push(isLacking.then(number(0)).else(number(1)).end() as Figure);
      continue;
    }
    const unsure = each.parens(each(plus(square(figure), number(value ** 2)), "*", number(SHARE ** 2))) as Figure;
    const apart = share(minus(figure, number(value)), atLeast(unsure, LEAST ** 2));
    squares.push(
      isLacking
        .then(number(LACKING ** 2))
        .else(apart)
        .end() as Figure,
    );
    counts.push(number(1));
  }
  return each.parens(each(squares.reduce(plus), "/", atLeast(counts.reduce(plus), 1))) as Expression<number>;
}
