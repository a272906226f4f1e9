import { css, html, LitElement, nothing, svg } from "lit";
import type { SweepRail } from "../../../shared/sweep.ts";
import type { WireBoard } from "../../../shared/wire-board.ts";
import { type TreeNode, treeLayout } from "../../page/tree-layout.ts";
import { say } from "../../words/probe.ts";
import { local } from "../../words/words.ts";
import { baseStyle } from "../parts/base-style.ts";
import { railVerdict, valueText } from "../parts/rail-words.ts";

const [BOX_WIDE, BOX_HIGH, GAP_X, GAP_Y] = [124, 44, 56, 16];

/** The power tree of the board as a drawing, with what was read on each rail: where it stops is seen. */
export class PowerTree extends LitElement {
  static override properties = {
    tree: { attribute: false },
    rails: { attribute: false },
    at: { type: String },
  };
  declare tree: WireBoard["tree"];
  declare rails: readonly SweepRail[];
  /** The rail that is probed now; empty: none. */
  declare at: string;

  static override styles = [
    baseStyle,
    css`
      :host {
        overflow-x: auto;
      }
      svg {
        display: block;
        max-width: 100%;
        height: auto;
        font-size: 15px;
        font-variant-numeric: tabular-nums;
      }
      .edge {
        fill: none;
        stroke: var(--line);
        stroke-width: 2;
      }
      rect {
        fill: var(--ground);
        stroke: var(--line);
        stroke-width: 1.5;
      }
      .feed rect {
        fill: var(--sunk);
        stroke: var(--ink);
      }
      .signal rect {
        stroke-dasharray: 5 4;
      }
      .good rect {
        fill: var(--calm-fill);
        stroke: var(--calm);
      }
      .open rect {
        fill: var(--warn-fill);
        stroke: var(--warn);
      }
      .bad rect {
        fill: var(--stop-fill);
        stroke: var(--stop);
        stroke-width: 3;
      }
      .at rect {
        stroke: var(--focus);
        stroke-width: 4;
      }
      text {
        fill: var(--ink);
      }
      .name {
        font-weight: 700;
      }
    `,
  ];

  constructor() {
    super();
    this.tree = [];
    this.rails = [];
    this.at = "";
  }

  override render() {
    const { nodes, edges, columns, rows } = treeLayout(this.tree);
    if (nodes.length === 0) return nothing;
    const [wide, high] = [columns * (BOX_WIDE + GAP_X) - GAP_X + 4, rows * (BOX_HIGH + GAP_Y) - GAP_Y + 4];
    const x = (node: TreeNode): number => node.column * (BOX_WIDE + GAP_X) + 2;
    const y = (node: TreeNode): number => node.row * (BOX_HIGH + GAP_Y) + 2;
    return html`<svg viewBox="0 0 ${wide} ${high}" width=${wide} role="img" aria-label=${say("tree", { words: this.#inWords() })}>
      ${edges.map(([from, to]) => {
        const [x1, y1, x2, y2] = [x(from) + BOX_WIDE, y(from) + BOX_HIGH / 2, x(to), y(to) + BOX_HIGH / 2];
        return svg`<path class="edge" d="M${x1} ${y1} C${x1 + GAP_X / 2} ${y1} ${x2 - GAP_X / 2} ${y2} ${x2} ${y2}"></path>`;
      })}
      ${nodes.map((node) => this.#node(node, x(node), y(node)))}
    </svg>`;
  }

  #node(node: TreeNode, x: number, y: number) {
    const read = this.rails.findLast((each) => each.rail === node.name);
    const told = read === undefined ? null : railVerdict(read);
    const kind = [
      node.isFeed ? "feed" : node.isSignal ? "signal" : "",
      told?.tone ?? "",
      node.name === this.at ? "at" : "",
    ];
    const value = read === undefined ? (node.volts === null ? "" : local(`${node.volts} V`)) : valueText(read);
    return svg`<g class=${kind.join(" ")}>
      <rect x=${x} y=${y} width=${BOX_WIDE} height=${BOX_HIGH} rx="6"></rect>
      <text class="name" x=${x + 8} y=${y + 18}>${told === null ? "" : `${told.mark} `}${node.name.slice(0, 14)}</text>
      <text x=${x + 8} y=${y + 36}>${read === undefined && !node.isFeed && value !== "" ? say("tree.wanted", { volts: value }) : value}</text>
    </g>`;
  }

  #inWords(): string {
    const bad = this.rails.filter((each) => railVerdict(each).tone === "bad").map((each) => each.rail);
    const count = this.rails.length;
    const read = say(count === 1 ? "tree.read.one" : "tree.read", { count });
    return bad.length === 0 ? read : say("tree.outside", { read, rails: bad.join(", ") });
  }
}
customElements.define("power-tree", PowerTree);
