import { strikeAll } from "./strike-all.ts";
import { wireFaults } from "./wire-faults.ts";

strikeAll("pty", wireFaults);
