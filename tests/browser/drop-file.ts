import { page } from "./real-page.ts";

/** Lets a file go over the page, beside every field. */
export async function dropped(name: string, text: string): Promise<void> {
  const files = await page.evaluateHandle(
    `(() => { const all = new DataTransfer(); all.items.add(new File([${JSON.stringify(text)}], ${JSON.stringify(name)})); return all; })()`,
  );
  await page.dispatchEvent("body", "drop", { dataTransfer: files });
}
