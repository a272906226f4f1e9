import "./no-compile.ts";
import "./bench-page.ts";
