import type { FactField, JobTables } from "../database/job-tables.ts";

type FactRow = JobTables["job_fact"];

/** The facts of a job by its events as they read today, each field in the order it was said. */
export type CurrentFacts = ReadonlyMap<FactField, readonly FactRow[]>;

/** The last value of a field; null where nothing was said. */
export const lastValue = (facts: CurrentFacts, field: FactField): string | null =>
  facts.get(field)?.at(-1)?.value ?? null;

const before = (a: FactRow, b: FactRow): number => {
  if (a.stamp !== b.stamp) return a.stamp < b.stamp ? -1 : 1;
  return a.event < b.event ? -1 : a.event > b.event ? 1 : 0;
};

/** The facts of one job with corrections applied: of each event only what its last correction says, where it stood. */
export function currentFacts(rows: readonly FactRow[]): CurrentFacts {
  const sayings = new Map<string, { at: FactRow; latest: FactRow; facts: FactRow[] }>();
  for (const row of rows.toSorted(before)) {
    const known = sayings.get(row.original);
    if (known === undefined) sayings.set(row.original, { at: row, latest: row, facts: [row] });
    else if (known.latest.event === row.event) known.facts.push(row);
    else sayings.set(row.original, { at: known.at, latest: row, facts: [row] });
  }
  const facts = new Map<FactField, FactRow[]>();
  for (const saying of [...sayings.values()].sort((a, b) => before(a.at, b.at)))
    for (const fact of saying.facts) {
      const known = facts.get(fact.field);
      if (known === undefined) facts.set(fact.field, [fact]);
      else known.push(fact);
    }
  return facts;
}

/** Whether a job is done with: handed back by its stages, or passed or failed where it has none. */
export function isDone(facts: CurrentFacts): boolean {
  const stage = lastValue(facts, "stage");
  if (stage !== null) return stage === "handed-back";
  const result = lastValue(facts, "result");
  return result === "passed" || result === "failed";
}
