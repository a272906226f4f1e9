import "./page/no-compile.ts";
import "./views/bench-page.ts";
