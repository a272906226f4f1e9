import { startStudy } from "./start-study.ts";
import { LOCK_OUTS } from "./start-study-boards.ts";

startStudy(LOCK_OUTS[1], "selection");
