import { drawFaults, studyModel } from "./diagnosis-figures.ts";
import { traceOf } from "./diagnosis-trace.ts";
export default function go() {
  const model = studyModel();
  for (const seed of [11, 12, 13, 14])
    for (const d of drawFaults({ model, count: 525, seed, weight: 30 })) {
      if (!d.isShort) continue;
      const { search, text } = traceOf(d, model);
      if (search.energisedShort) console.log(seed, text);
    }
}
