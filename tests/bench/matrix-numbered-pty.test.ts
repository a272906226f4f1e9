import { scenarioMatrix } from "./scenario-matrix.ts";

await scenarioMatrix("numbered", "pty");
