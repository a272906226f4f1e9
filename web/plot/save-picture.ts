/** Saves panes below each other as one PNG, with a line that says what they show. */
export function savePicture(
  canvases: readonly HTMLCanvasElement[],
  { caption, ground, ink }: { caption: string; ground: string; ink: string },
): void {
  const [first] = canvases;
  if (first === undefined) return;
  const font = Math.round(14 * devicePixelRatio);
  const whole = document.createElement("canvas");
  whole.width = first.width;
  whole.height = canvases.reduce((sum, each) => sum + each.height, 2 * font);
  const context = whole.getContext("2d");
  if (context === null) return;
  context.fillStyle = ground;
  context.fillRect(0, 0, whole.width, whole.height);
  context.fillStyle = ink;
  context.font = `${font}px system-ui, sans-serif`;
  context.fillText(caption, font, 1.4 * font);
  let top = 2 * font;
  for (const canvas of canvases) {
    context.drawImage(canvas, 0, top);
    top += canvas.height;
  }
  whole.toBlob((blob) => {
    if (blob !== null) saveBlob(blob, `${caption.replaceAll(/[^\p{L}\p{N}]+/gu, "-").replaceAll(/^-+|-+$/g, "")}.png`);
  }, "image/png");
}

/** Hands a file to the browser to be saved. */
export function saveBlob(blob: Blob, name: string): void {
  const url = URL.createObjectURL(blob);
  const link = document.createElement("a");
  link.href = url;
  link.download = name;
  link.click();
  // The browser has taken it by the next turn of a slow machine.
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
