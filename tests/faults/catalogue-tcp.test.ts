import { strikeAll } from "./strike-all.ts";

strikeAll("tcp");
