import german from "./phone.de.json" with { type: "json" };
import english from "./phone.en.json" with { type: "json" };

/** Kept for this tab alone: a phone may drop the page while its camera is open. */
const KEPT = "firstamp-phone";

const words: typeof english = navigator.language.startsWith("de") ? german : english;
document.documentElement.lang = words === german ? "de" : "en";

function made<Name extends keyof HTMLElementTagNameMap>(
  name: Name,
  is: Partial<HTMLElementTagNameMap[Name]> = {},
  ...children: (Node | string)[]
): HTMLElementTagNameMap[Name] {
  const element = Object.assign(document.createElement(name), is);
  element.append(...children);
  return element;
}

const code = made("input", { name: "code", autocomplete: "off", required: true, maxLength: 20 });
code.setAttribute("autocapitalize", "characters");
const begin = made("form", {}, made("label", {}, words.code, code), made("button", {}, words.begin));

// Named one by one, so that a phone that takes its photographs in another form turns them into one of these.
const file = made("input", { type: "file", name: "photograph", accept: "image/jpeg,image/png,image/webp" });
file.setAttribute("capture", "environment");
const caption = made("input", { name: "caption", maxLength: 200, autocomplete: "off" });
const button = made("button", {}, words.send);
const send = made(
  "form",
  {},
  made("label", {}, words.photograph, file),
  made("label", {}, words.caption, caption),
  button,
);
const said = made("p");
said.setAttribute("role", "status");
const filed = made("ul");

function tell(text: string, isWrong = false): void {
  said.textContent = text;
  said.className = isWrong ? "wrong" : "";
}

function show(): void {
  const has = sessionStorage.getItem(KEPT) !== null;
  begin.hidden = has;
  send.hidden = !has;
}

async function useCode(): Promise<void> {
  const reply = await fetch("/code", {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({ code: code.value }),
  }).catch(() => null);
  if (reply === null) return tell(words.lost, true);
  if (!reply.ok) return tell(words.wrong, true);
  sessionStorage.setItem(KEPT, ((await reply.json()) as { pass: string }).pass);
  tell("");
  show();
}

/** What went wrong, in words; null where it was filed. */
async function upload(photograph: File): Promise<string | null> {
  const query = new URLSearchParams({ name: photograph.name.slice(0, 300) || "photograph.jpg" });
  if (caption.value.trim() !== "") query.set("caption", caption.value.trim());
  const reply = await fetch(`/photographs?${query}`, {
    method: "POST",
    headers: {
      "content-type": "application/octet-stream",
      authorization: `Bearer ${sessionStorage.getItem(KEPT) ?? ""}`,
    },
    body: photograph,
  }).catch(() => null);
  if (reply === null) return words.lost;
  if (reply.ok) return null;
  const { error } = (await reply.json().catch(() => ({ error: "" }))) as { error: string };
  if (error === "no-code") {
    sessionStorage.removeItem(KEPT);
    show();
  }
  return error in words ? words[error as keyof typeof words] : words["not-filed"];
}

async function sendPhotograph(): Promise<void> {
  const [photograph] = file.files ?? [];
  if (photograph === undefined) return tell(words.none, true);
  button.disabled = true;
  tell(words.sending);
  const wrong = await upload(photograph);
  button.disabled = false;
  if (wrong !== null) return tell(wrong, true);
  tell("");
  filed.prepend(made("li", {}, `${caption.value.trim() || photograph.name}: ${words.filed}`));
  send.reset();
}

begin.addEventListener("submit", (event) => {
  event.preventDefault();
  void useCode();
});
send.addEventListener("submit", (event) => {
  event.preventDefault();
  void sendPhotograph();
});
document.querySelector("main")?.append(made("h1", {}, words.title), begin, send, said, filed);
show();

// A picture of the address carries the code behind it.
const given = /^#c=([A-Za-z0-9-]{1,20})$/.exec(location.hash)?.[1];
if (given !== undefined) {
  history.replaceState(null, "", location.pathname);
  code.value = given;
  sessionStorage.removeItem(KEPT);
  void useCode();
}
