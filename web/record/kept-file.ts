import { css, html, LitElement, nothing } from "lit";
import type { WireKeptFile } from "../../shared/wire-job.ts";
import { askDaemon } from "../page/session.ts";
import { baseStyle } from "../views/base-style.ts";

const PICTURES = new Set(["image/png", "image/jpeg", "image/webp"]);

/** A file kept with a job: a picture as it is, anything else by its name, each to be saved. It is read when it comes into sight. */
export class KeptFile extends LitElement {
  static override properties = {
    job: { type: String },
    file: { attribute: false },
    url: { state: true },
    problem: { state: true },
  };
  declare job: string;
  declare file: WireKeptFile;
  declare url: string | null;
  declare problem: string;
  #watching: IntersectionObserver | null = null;

  static override styles = [
    baseStyle,
    css`
      img {
        display: block;
        max-width: 100%;
        max-height: 24rem;
        margin-top: 0.3rem;
        border-radius: 6px;
      }
      button {
        min-height: 1.75rem;
        padding: 0 0.5rem;
        border-width: 1px;
        overflow-wrap: anywhere;
        text-align: left;
      }
    `,
  ];

  constructor() {
    super();
    this.url = null;
    this.problem = "";
  }

  override connectedCallback(): void {
    super.connectedCallback();
    if (!PICTURES.has(this.file.mediaType)) return;
    this.#watching = new IntersectionObserver((entries) => {
      if (!entries.some((each) => each.isIntersecting)) return;
      this.#watching?.disconnect();
      void this.#read();
    });
    this.#watching.observe(this);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#watching?.disconnect();
    if (this.url !== null) URL.revokeObjectURL(this.url);
    this.url = null;
  }

  override render() {
    const { name, caption, mediaType } = this.file;
    return html`<button @click=${this.#save}>Save ${name}</button>
      ${caption === null ? nothing : html` ${caption}`}
      ${this.problem === "" ? nothing : html`<p class="problem small" role="alert">✕ ${this.problem}</p>`}
      ${this.url === null || !PICTURES.has(mediaType) ? nothing : html`<img src=${this.url} alt=${caption ?? name} />`}`;
  }

  async #read(): Promise<string | null> {
    const reply = await askDaemon(`/api/jobs/${this.job}/attachments/${this.file.sha256}`).catch(() => null);
    if (reply === null || !reply.ok) {
      this.problem = `${this.file.name} could not be read from the record.`;
      return null;
    }
    this.problem = "";
    this.url ??= URL.createObjectURL(await reply.blob());
    return this.url;
  }

  readonly #save = async (): Promise<void> => {
    const url = this.url ?? (await this.#read());
    if (url === null) return;
    const link = document.createElement("a");
    link.href = url;
    link.download = this.file.name;
    link.click();
  };
}
customElements.define("kept-file", KeptFile);
