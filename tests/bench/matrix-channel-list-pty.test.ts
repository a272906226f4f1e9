import { scenarioMatrix } from "./scenario-matrix.ts";

await scenarioMatrix("channel-list", "pty");
