import { css, html, LitElement, nothing } from "lit";
import type { WireKeptFile } from "../../shared/wire-job.ts";
import { askDaemon } from "../page/session.ts";
import { type Curve, curveIn } from "../plot/curve-file.ts";
import { saveBlob } from "../plot/save-picture.ts";
import { baseStyle } from "../views/parts/base-style.ts";
import { say } from "../words/record.ts";
import "../plot/time-plot.ts";

const PICTURES = new Set(["image/png", "image/jpeg", "image/webp"]);
/** A larger table would hold the page up. */
const MOST_CURVE_BYTES = 8 * 1024 * 1024;

/** A file kept with a job: a picture as it is, a table over time as a curve, anything else by its name, each to be saved. It is read when it comes into sight. */
export class KeptFile extends LitElement {
  static override properties = {
    job: { type: String },
    file: { attribute: false },
    url: { state: true },
    curve: { state: true },
    problem: { state: true },
  };
  declare job: string;
  declare file: WireKeptFile;
  declare url: string | null;
  declare curve: Curve | null;
  declare problem: string;
  #blob: Blob | null = null;
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
      time-plot {
        height: 20rem;
        margin-top: 0.3rem;
      }
      button {
        min-height: max(1.75rem, var(--touch, 0px));
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
    this.curve = null;
    this.problem = "";
  }

  override connectedCallback(): void {
    super.connectedCallback();
    if (!PICTURES.has(this.file.mediaType) && !isTable(this.file)) return;
    this.#watching = new IntersectionObserver((entries) => {
      if (!entries.some((each) => each.isIntersecting)) return;
      this.#watching?.disconnect();
      void this.#show();
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
    const { name, caption } = this.file;
    const { curve } = this;
    return html`<button @click=${this.#save}>${say("save", { name })}</button>
      ${caption === null ? nothing : html` ${caption}`}
      ${this.problem === "" ? nothing : html`<p class="problem small" role="alert">✕ ${this.problem}</p>`}
      ${this.url === null ? nothing : html`<img src=${this.url} alt=${caption ?? name} />`}
      ${curve?.ok === true ? html`<time-plot .panes=${curve.panes} .whole=${{ from: curve.from, to: curve.to }} .caption=${name}></time-plot>` : nothing}
      ${curve?.ok === false ? html`<p class="small soft">${say("file.no-curve", { because: curve.because })}</p>` : nothing}`;
  }

  async #show(): Promise<void> {
    const blob = await this.#read();
    if (blob === null) return;
    if (PICTURES.has(this.file.mediaType)) this.url = URL.createObjectURL(blob);
    else this.curve = curveIn(await blob.text());
  }

  async #read(): Promise<Blob | null> {
    if (this.#blob !== null) return this.#blob;
    const reply = await askDaemon(`/api/jobs/${this.job}/attachments/${this.file.sha256}`).catch(() => null);
    if (reply === null || !reply.ok) {
      this.problem = say("file.unreadable", { name: this.file.name });
      return null;
    }
    this.problem = "";
    this.#blob = await reply.blob();
    return this.#blob;
  }

  readonly #save = async (): Promise<void> => {
    const blob = await this.#read();
    if (blob !== null) saveBlob(blob, this.file.name);
  };
}
customElements.define("kept-file", KeptFile);

const isTable = ({ name, bytes }: WireKeptFile): boolean => /\.(csv|tsv|txt)$/i.test(name) && bytes <= MOST_CURVE_BYTES;
