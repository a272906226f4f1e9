import { scenarioMatrix } from "./scenario-matrix.ts";

await scenarioMatrix("selection", "tcp");
