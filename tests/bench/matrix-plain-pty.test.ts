import { scenarioMatrix } from "./scenario-matrix.ts";

await scenarioMatrix("plain", "pty");
