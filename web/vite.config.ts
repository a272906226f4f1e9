/** The page as static files that work offline and need no exception in the content policy. */
export default {
  root: new URL(".", import.meta.url).pathname,
  build: {
    outDir: "../dist/web",
    emptyOutDir: true,
    target: "es2023",
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
  },
};
