import { css, html, LitElement } from "lit";
import { pciAddressIn } from "../../../shared/record/pci-address.ts";
import type { AttachQuery } from "../../../shared/wire-http.ts";
import type { WireJobSheet } from "../../../shared/wire-job.ts";
import { numberIn } from "../../../shared/words/number-in.ts";
import { foundIn, jobRecord } from "../../record/job-record.ts";
import { say } from "../../words/host.ts";
import { baseStyle } from "../parts/base-style.ts";
import { problem } from "../parts/problem.ts";
import "./test-form.ts";

const COMMANDS = "host-look.mjs > look.json, host-look.mjs --watch > watch.jsonl";
const LSPCI = "lspci -vvnn -xxxx";

/** The test host's word: its file dropped anywhere on the page, chosen or pasted, and the tests done there. */
export class HostView extends LitElement {
  static override properties = {
    sheet: { attribute: false },
    mayWrite: { type: Boolean },
    problem: { state: true },
    said: { state: true },
  };
  /** The job that is open; null: none. */
  declare sheet: WireJobSheet | null;
  declare mayWrite: boolean;
  declare problem: string;
  /** Lines on what the last files show. */
  declare said: readonly string[];

  static override styles = [
    baseStyle,
    css`
      .drop {
        display: grid;
        gap: 0.4rem;
        padding: 0.8rem;
        border: 3px dashed var(--line);
        border-radius: 8px;
      }
      .words {
        white-space: pre-line;
        overflow-wrap: anywhere;
      }
      .said:not(:empty) {
        padding: 0.4rem 0.6rem;
        border-left: 4px solid var(--calm);
      }
      .word {
        font-size: 1.25rem;
        font-weight: 700;
      }
      input.short[type="text"] {
        width: 8rem;
      }
    `,
  ];

  constructor() {
    super();
    this.sheet = null;
    this.mayWrite = false;
    this.problem = "";
    this.said = [];
  }

  override connectedCallback(): void {
    super.connectedCallback();
    window.addEventListener("dragover", keepPage);
    window.addEventListener("drop", this.#onDrop);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    window.removeEventListener("dragover", keepPage);
    window.removeEventListener("drop", this.#onDrop);
  }

  override render() {
    const last = this.sheet?.events.findLast((each) => each.kind === "host-look");
    const [word, ...more] = last?.text.split("\n") ?? [];
    return html`<div class="two">
      <section class="card stack" aria-label=${say("heading")}>
        <h2>${say("heading")}</h2>
        ${problem(this.problem)}
        <div role="status" class="words said">${this.said.map((each) => html`<p lang="en">${each}</p>`)}</div>
        ${
          word === undefined
            ? html`<p>${say("why")}</p><p class="small">${say("how", { commands: COMMANDS, text: LSPCI })}</p>`
            : html`<h3 class="label small">${say("last")}</h3><p class="word" lang="en">${word}</p><p class="words" lang="en">${more.join("\n")}</p>`
        }
        <form class="stack" @submit=${this.#paste}>
          <div class="row">
            <label class="row"><span class="label">${say("port")}</span><input type="text" name="port" class="short" autocomplete="off" spellcheck="false" /></label>
            <label class="row"><span class="label">${say("ahead")}</span><input type="text" name="ahead" class="short" inputmode="decimal" autocomplete="off" /></label>
            <label class="check"><input type="checkbox" name="control" />${say("control")}</label>
          </div>
          <label class="drop"><span>${say("drop")}</span><input type="file" name="file" multiple ?disabled=${!this.mayWrite} @change=${this.#chosen} /></label>
          <label><span class="label">${say("paste")}</span><textarea name="text" rows="2" spellcheck="false"></textarea></label>
          <div class="row"><button type="submit" ?disabled=${!this.mayWrite}>${say("paste.file")}</button></div>
        </form>
      </section>
      <test-form .sheet=${this.sheet} .mayWrite=${this.mayWrite}></test-form>
    </div>`;
  }

  /** A file that is dropped beside a field would otherwise take the place of the page, and with it the hand on the cut. */
  readonly #onDrop = (event: DragEvent): void => {
    if (!keepPage(event)) return;
    const { files, folders } = droppedIn(event.dataTransfer);
    if (files.length + folders.length === 0) return;
    this.dispatchEvent(new CustomEvent("file-dropped", { bubbles: true, composed: true }));
    void this.#file(files).then(() => {
      const [folder] = folders;
      if (folder !== undefined) this.problem = say("folder", { name: folder });
      this.scrollIntoView({ block: "start" });
    });
  };

  readonly #chosen = (event: Event): void => {
    const input = event.target as HTMLInputElement;
    const files = [...(input.files ?? [])];
    if (files.length > 0) void this.#file(files).then(() => (input.value = ""));
  };

  readonly #paste = (event: SubmitEvent): void => {
    event.preventDefault();
    const field = this.renderRoot.querySelector("textarea");
    const text = field?.value.trim() ?? "";
    if (text === "") {
      this.problem = say("paste.nothing");
      return;
    }
    void this.#file([new File([`${text}\n`], "host-look.txt", { type: "text/plain" })]).then((isFiled) => {
      if (isFiled && field !== null) field.value = "";
    });
  };

  /** Keeps files with the job that is open, one after the other, and says what they show. */
  async #file(files: readonly File[]): Promise<boolean> {
    const { sheet } = this;
    const of = this.#of();
    this.said = [];
    this.problem = sheet === null || !this.mayWrite ? say("no-job") : typeof of === "string" ? of : "";
    if (sheet === null || this.problem !== "" || typeof of === "string") return false;
    for (const file of files) {
      const before = this.said;
      this.said = [...before, say("filing", { name: file.name })];
      const filed = await jobRecord.attach(sheet.id, file, of);
      const found = filed.ok ? foundIn(filed.value) : [];
      this.said = [...before, ...(filed.ok && found.length === 0 ? [say("stored", { name: file.name })] : found)];
      if (!filed.ok) this.problem = filed.because;
    }
    const control = this.renderRoot.querySelector<HTMLInputElement>('input[name="control"]');
    // The good card is one look's: the next is the board's again.
    if (control !== null) control.checked = false;
    return this.problem === "";
  }

  /** Facts that the file does not say itself; a text is why they cannot be read. */
  #of(): Omit<AttachQuery, "name"> | string {
    const form = this.renderRoot.querySelector("form");
    const data = form === null ? new FormData() : new FormData(form);
    const [typed, ahead] = [data.get("port"), data.get("ahead")].map((each) => String(each ?? "").trim());
    const port = typed === undefined || typed === "" ? null : pciAddressIn(typed);
    if (typed !== undefined && typed !== "" && port === null) return say("port.wrong", { text: typed });
    const seconds = ahead === undefined || ahead === "" ? null : numberIn(ahead);
    if (ahead !== undefined && ahead !== "" && seconds === null) return say("ahead.wrong", { text: ahead });
    return {
      ...(port === null ? {} : { port }),
      ...(seconds === null ? {} : { clockAhead: seconds }),
      ...(data.get("control") === null ? {} : { control: "yes" as const }),
    };
  }
}
customElements.define("host-view", HostView);

/** The files that were let go, and the names of folders among them, whose content a page is not given. */
function droppedIn(data: DataTransfer | null): { files: File[]; folders: string[] } {
  const files = [...(data?.files ?? [])];
  const entries = [...(data?.items ?? [])]
    .filter((each) => each.kind === "file")
    .map((each) => each.webkitGetAsEntry());
  const folders = new Set(entries.flatMap((each) => (each?.isDirectory === true ? [each.name] : [])));
  return { files: files.filter((each) => !folders.has(each.name)), folders: [...folders] };
}

/** Keeps a file from opening in place of the page; false where it is meant for a field that takes files itself. */
function keepPage(event: DragEvent): boolean {
  const [at] = event.composedPath();
  const isField = at instanceof HTMLInputElement && at.type === "file";
  if (isField || event.dataTransfer?.types.includes("Files") !== true) return false;
  event.preventDefault();
  return true;
}
