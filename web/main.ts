import "./page/no-compile.ts";
import "./views/frame/bench-page.ts";
