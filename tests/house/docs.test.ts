import { existsSync, readdirSync, readFileSync, statSync } from "node:fs";
import path from "node:path";
import { expect, test } from "vitest";

const root = path.resolve(import.meta.dirname, "../..");
const docs = path.join(root, "docs");
const textOf = (file: string): string => readFileSync(path.join(root, file), "utf8");
/** The pages in the order of the manual's table. */
const pages = [...textOf("docs/README.md").matchAll(/^\| \d+ \| \[[^\]]+\]\(([a-z-]+\.md)\)/gm)].map(
  ([, page = ""]) => page,
);

test("the manual lists every page once", () => {
  const there = readdirSync(docs).filter((name) => name.endsWith(".md") && name !== "README.md");
  expect([...pages].sort()).toEqual(there.sort());
});

test.each(pages.map((page, index) => [page, index] as const))(
  "%s says for whom it is in its first line, and what comes next",
  (page, index) => {
    const [, , first] = textOf(`docs/${page}`).split("\n");
    const next = pages[index + 1];
    expect(first).toMatch(/^\*For /);
    expect(first).toContain(next === undefined ? "This is the last page." : `](${next}).`);
  },
);

test("every link of the README and of the manual leads somewhere", () => {
  const files = ["README.md", "docs/README.md", ...pages.map((page) => `docs/${page}`)];
  const broken = files.flatMap((file) =>
    [...textOf(file).matchAll(/\]\((?!https?:|#)([^)#\s]+)/g)]
      .map(([, to = ""]) => to)
      .filter((to) => !existsSync(path.join(root, path.dirname(file), to)))
      .map((to) => `${file}: ${to}`),
  );
  expect(broken).toEqual([]);
});

test("the README's pictures are small", () => {
  const pictures = [...textOf("README.md").matchAll(/!\[[^\]]+\]\(([^)]+)\)/g)].map(([, picture = ""]) => picture);
  expect(pictures.length).toBeGreaterThanOrEqual(2);
  for (const picture of pictures) expect(statSync(path.join(root, picture)).size).toBeLessThanOrEqual(150_000);
});
