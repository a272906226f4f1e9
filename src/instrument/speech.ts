import { BenchError, quoted } from "../../shared/bench-error.ts";
import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import { joinMessages, splitReplies } from "../scpi/compound.ts";
import { formatNumber } from "../scpi/number.ts";
import type { Turn } from "./turn.ts";

/** The answers to several questions, in their order; times of the first question and the last answer. */
export interface Answers {
  texts: string[];
  queriedAtMs: number;
  atMs: number;
  /** The number of lines it took; 1 is one round trip. */
  lines: number;
}

/** Fills a driver's template. */
export function fill(template: string, values: { channel: number; value?: number }): string {
  const named = template.replaceAll("{channel}", String(values.channel));
  return values.value === undefined ? named : named.replaceAll("{value}", formatNumber(values.value));
}

/**
 * A driver's words for one supply: puts the channel into each message, by name or by selecting it on the same line, so
 * that no other message can come between the selection and what it is for. Pure but for the turn it is handed.
 */
export class Speech {
  readonly #driver: SupplyDriver;
  readonly #name: string;
  #joins: boolean;
  /** Lines by the array of questions and the channel: readings ask the same over and over. */
  #known = new WeakMap<readonly string[], Map<number, Group[]>>();

  constructor(driver: SupplyDriver, name: string) {
    this.#driver = driver;
    this.#name = name;
    this.#joins = driver.wire.joins;
  }

  /** Whether several questions may go on one line; tried at connect. */
  get joins(): boolean {
    return this.#joins;
  }
  set joins(joins: boolean) {
    this.#joins = joins;
    this.#known = new WeakMap();
  }

  /** The lines that say `message` to a channel: one, or the selection and the message where they cannot share one. */
  linesFor(message: string, channel: number): string[] {
    const { select } = this.#driver.channels;
    if (select === undefined) return [message];
    const selection = fill(select.tell, { channel });
    return select.sameLine ? [joinMessages([selection, message])] : [selection, message];
  }

  /** Throws BenchError "bad-input" where the driver's family has no such channel. */
  mustHave(channel: number): void {
    const { channels, operations, wire } = this.#driver;
    const names = channels.select !== undefined || operations.outputOff.includes("{channel}");
    // Lines that must be a gap apart and cannot be joined would keep several channels from being cut at once.
    const most = wire.gapMs > 0 && !this.#joins ? 1 : (channels.count ?? (names ? 32 : 1));
    if (channel <= most) return;
    throw new BenchError(
      "bad-input",
      `Channel ${channel} of supply "${this.#name}" does not exist: the highest channel of driver "${this.#driver.name}" is ${most}; nothing was sent`,
      { instrument: this.#name },
    );
  }

  /** Says one command to a channel. */
  async tell(turn: Turn, template: string, channel: number, value?: number): Promise<void> {
    this.mustHave(channel);
    for (const line of this.linesFor(fill(template, value === undefined ? { channel } : { channel, value }), channel)) {
      await turn.send(line);
    }
  }

  /** Asks several questions of a channel in as few lines as this instrument takes. Throws "bad-reply" on a wrong count. */
  async ask(
    turn: Turn,
    templates: readonly string[],
    channel: number,
    options: { timeoutMs?: number } = {},
  ): Promise<Answers> {
    this.mustHave(channel);
    const groups = this.#groupsFor(templates, channel);
    const texts: string[] = [];
    let queriedAtMs: number | undefined;
    let atMs = 0;
    for (const { before, line, count } of groups) {
      for (const each of before) await turn.send(each);
      const answer = await turn.query(line, options);
      const replies = count === 1 ? [answer.text] : splitReplies(answer.text);
      if (replies.length !== count) {
        throw new BenchError(
          "bad-reply",
          `Cannot read from supply "${this.#name}": the reply to ${quoted(line)} was ${quoted(answer.text)}; expected ${count} answers`,
          { instrument: this.#name },
        );
      }
      texts.push(...replies);
      queriedAtMs ??= answer.sentAtMs;
      atMs = answer.atMs;
    }
    return { texts, queriedAtMs: queriedAtMs ?? atMs, atMs, lines: groups.length };
  }

  /** Verifies that a selecting supply has the channel selected; nothing to do where commands name it. */
  async mustBeSelected(turn: Turn, channel: number): Promise<void> {
    const { select } = this.#driver.channels;
    if (select === undefined) return;
    const answer = (await this.ask(turn, [select.ask], channel)).texts[0] ?? "";
    const should = fill(select.answer, { channel });
    const bare = answer.replace(/^["']|["']$/g, "");
    if (bare.toUpperCase() === should.toUpperCase() || (Number(bare) === Number(should) && bare !== "")) return;
    throw new BenchError(
      "bad-reply",
      `Cannot select channel ${channel} of supply "${this.#name}": the reply to ${quoted(select.ask)} was ${quoted(answer)}; expected ${quoted(should)}; its output was not switched`,
      { instrument: this.#name },
    );
  }

  #groupsFor(templates: readonly string[], channel: number): Group[] {
    let byChannel = this.#known.get(templates);
    if (byChannel === undefined) {
      byChannel = new Map();
      this.#known.set(templates, byChannel);
    }
    let groups = byChannel.get(channel);
    if (groups === undefined) {
      groups = this.#makeGroups(templates, channel);
      byChannel.set(channel, groups);
    }
    return groups;
  }

  #makeGroups(templates: readonly string[], channel: number): Group[] {
    const { select } = this.#driver.channels;
    const messages = templates.map((each) => fill(each, { channel }));
    const selection = select === undefined ? [] : [fill(select.tell, { channel })];
    const inLine = select?.sameLine === true ? selection : [];
    const before = select?.sameLine === false ? selection : [];
    const groups: Group[] = [];
    let group: string[] = [];
    const end = (): void => {
      if (group.length === 0) return;
      const line = joinMessages([...inLine, ...group]);
      groups.push({ before: groups.length === 0 ? before : [], line, count: group.length });
      group = [];
    };
    for (const message of messages) {
      const longer = joinMessages([...inLine, ...group, message]).length > this.#driver.wire.longestLine;
      if (group.length > 0 && (!this.#joins || longer)) end();
      group.push(message);
    }
    end();
    return groups;
  }
}

/** One line of questions, and what must be sent just before it. */
interface Group {
  before: string[];
  line: string;
  count: number;
}
