import { benchFaults } from "./bench-faults.ts";
import { strikeAll } from "./strike-all.ts";

strikeAll("pty", benchFaults);
