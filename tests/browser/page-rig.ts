import { existsSync } from "node:fs";
import { type Browser, type BrowserContext, chromium, type Page } from "playwright-core";
import { startWire, type Wire } from "../../src/wire/start-wire.ts";
import { ScriptedFacade } from "../wire/scripted-facade.ts";
import { boardPhoto } from "./board-photo.ts";
import { ScriptedDesk } from "./example-job.ts";

const FLAGS = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];
const TOKEN = "c3".repeat(32);

/** Chromium without windows, or as it is where that is not installed. */
const CHROMIUM = ["/usr/bin/chromium-headless-shell", "/usr/bin/chromium"];

export const openBrowser = (): Promise<Browser> =>
  chromium.launch({
    executablePath: process.env["CHROMIUM"] ?? CHROMIUM.find((each) => existsSync(each)) ?? "chromium",
    args: FLAGS,
  });

/** A bench that is told what to say, its wire, and a browser's page on it; all that the page complains of is kept. */
export class PageRig {
  readonly facade = new ScriptedFacade();
  readonly desk = new ScriptedDesk();
  /** What was marked on photographs of the board. */
  readonly marked: unknown[] = [];
  readonly complaints: string[] = [];
  readonly requests: string[] = [];
  page!: Page;
  wire!: Wire;
  readonly #pageDir: string;
  readonly #context: BrowserContext;
  readonly #phone: boolean;

  private constructor(pageDir: string, context: BrowserContext, phone: boolean) {
    this.#pageDir = pageDir;
    this.#phone = phone;
    this.#context = context;
  }

  static async open(
    browser: Browser,
    pageDir: string,
    options: { width?: number; height?: number; dark?: boolean; phone?: boolean } = {},
  ): Promise<PageRig> {
    const context = await browser.newContext({
      viewport: { width: options.width ?? 1280, height: options.height ?? 800 },
      colorScheme: options.dark === true ? "dark" : "light",
    });
    context.setDefaultTimeout(30_000);
    const rig = new PageRig(pageDir, context, options.phone === true);
    rig.facade.jobsForPage = rig.desk;
    rig.facade.board = {
      photo: async () => ({ name: "front.png", mediaType: "image/png", bytes: boardPhoto() }),
      mark: async (photo, point, at) => {
        rig.marked.push({ photo, point, at });
      },
      diagnose: async () => Promise.reject(new Error("this bench weighs nothing")),
    };
    await rig.serve();
    rig.page = await context.newPage();
    rig.page.on("console", (message) => {
      if (message.type() === "error" || message.type() === "warning") rig.complaints.push(message.text());
    });
    rig.page.on("pageerror", (error) => rig.complaints.push(String(error)));
    rig.page.on("request", (request) => rig.requests.push(request.url()));
    return rig;
  }

  /** Starts the wire, on the port it had before where it was stopped; the token is the same, as after a crash. */
  async serve(): Promise<void> {
    this.wire = await startWire({
      facade: this.facade,
      pageDir: this.#pageDir,
      token: TOKEN,
      port: this.wire?.port ?? 0,
      ...(this.#phone ? { phone: { host: "127.0.0.1", port: 0 } } : {}),
    });
  }

  /** Opens the printed address and waits until the page is live. */
  async visit(url: string = this.wire.url): Promise<void> {
    await this.page.goto(url, { waitUntil: "commit" });
    await this.page.locator('.phase[data-phase="live"]').waitFor();
  }

  /** Says a thing again and again, as a bench does, until the page shows it. */
  async saying<Value>(say: () => void, until: () => Promise<Value>): Promise<Value> {
    const timer = setInterval(say, 50);
    try {
      say();
      return await until();
    } finally {
      clearInterval(timer);
    }
  }

  async close(): Promise<void> {
    await this.#context.close();
    await this.wire.close();
  }
}
