import { strikeAll } from "./strike-all.ts";

strikeAll("pty");
