/** The page as static files that work offline and need no exception in the content policy. */
export default {
  root: new URL(".", import.meta.url).pathname,
  build: {
    outDir: "../dist/web",
    emptyOutDir: true,
    target: "es2023",
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    // The form for phones is a page of its own and shares no file with the other.
    rollupOptions: {
      input: ["index.html", "phone.html"].map((name) => new URL(name, import.meta.url).pathname),
    },
  },
};
