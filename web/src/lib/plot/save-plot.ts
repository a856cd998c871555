import letters from '@fontsource-variable/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-wght-normal.woff2?url';

const STYLES = ['fill', 'stroke', 'stroke-width', 'stroke-dasharray', 'font-size', 'text-anchor'] as const;
const PNG_SCALE = 3;

/** A plot as a file of its own: colours resolved, ground painted, the page's letters inside. */
export async function plotAsSvg(plot: SVGSVGElement): Promise<string> {
  const copy = plot.cloneNode(true) as SVGSVGElement;
  const originals = plot.querySelectorAll('*');
  copy.querySelectorAll('*').forEach((element, index) => {
    const original = originals[index];
    if (original) resolveStyles(original, element);
  });
  const { width, height } = plot.viewBox.baseVal;
  copy.setAttribute('xmlns', 'http://www.w3.org/2000/svg');
  copy.setAttribute('width', String(width));
  copy.setAttribute('height', String(height));
  copy.removeAttribute('class');
  copy.removeAttribute('id');
  const ground = document.createElementNS('http://www.w3.org/2000/svg', 'rect');
  ground.setAttribute('width', String(width));
  ground.setAttribute('height', String(height));
  ground.setAttribute('fill', getComputedStyle(document.body).backgroundColor);
  const style = document.createElementNS('http://www.w3.org/2000/svg', 'style');
  style.textContent = await fontRule();
  copy.prepend(style, ground);
  return new XMLSerializer().serializeToString(copy);
}

/** The same as pixels, three to a unit. */
export async function plotAsPng(plot: SVGSVGElement): Promise<Blob> {
  const image = new Image();
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(await plotAsSvg(plot))}`;
  await image.decode();
  const canvas = document.createElement('canvas');
  canvas.width = plot.viewBox.baseVal.width * PNG_SCALE;
  canvas.height = plot.viewBox.baseVal.height * PNG_SCALE;
  canvas.getContext('2d')?.drawImage(image, 0, 0, canvas.width, canvas.height);
  return new Promise((resolve, reject) => {
    canvas.toBlob(
      (blob) => (blob ? resolve(blob) : reject(new Error('The browser made no picture.'))),
      'image/png',
    );
  });
}

/** Hands a file to the reader's downloads. */
export function download(name: string, content: Blob): void {
  const address = URL.createObjectURL(content);
  const link = document.createElement('a');
  link.href = address;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

// A file on its own knows no custom properties and no scoped classes.
function resolveStyles(original: Element, copy: Element): void {
  const computed = getComputedStyle(original);
  for (const name of STYLES) copy.setAttribute(name, computed.getPropertyValue(name));
  if (original.tagName === 'text') copy.setAttribute('font-family', "'Plot', system-ui, sans-serif");
  copy.removeAttribute('class');
}

async function fontRule(): Promise<string> {
  const bytes = new Uint8Array(await (await fetch(letters)).arrayBuffer());
  let binary = '';
  for (const byte of bytes) binary += String.fromCharCode(byte);
  return `@font-face{font-family:'Plot';src:url(data:font/woff2;base64,${btoa(binary)}) format('woff2')}`;
}
