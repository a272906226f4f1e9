import { z } from "zod";

// Before any schema is made: the parser's compiled path builds functions from text, which the content policy refuses.
z.config({ jitless: true });
