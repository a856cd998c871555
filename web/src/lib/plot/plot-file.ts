/** Colours of the light page: a file on its own knows no custom properties. `test/web/plot-file.test.ts` holds them to look.css. */
export const PLOT_COLOURS: Readonly<Record<string, string>> = {
  '--paper': '#f8f4ec',
  '--ink': '#1d1916',
  '--ink-2': '#5c534a',
  '--hair': '#d9cfbf',
  '--accent': '#6a1f45',
  '--warn': '#8a4b00',
  '--arm-1': '#1f5a8a',
  '--arm-2': '#b4540a',
};

const escaped = (text: string): string =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');

/**
 * The markup of one drawing as a file of its own: colours resolved, ground painted, its heading as its title. Letters are those of
 * the reader's machine where ours are missing. Errors: RangeError for markup that is not one svg element with a viewBox.
 */
export function plotFile(markup: string, heading: string): string {
  const plain = markup.replaceAll(/<!--[\s\S]*?-->/g, '').trim();
  const [, attributes = '', inner = ''] = /^<svg\b((?:[^>"]|"[^"]*")*)>([\s\S]*)<\/svg>$/.exec(plain) ?? [];
  const [, width, height] = /viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(attributes) ?? [];
  if (width === undefined || height === undefined)
    throw new RangeError('A drawing is one svg element with a viewBox.');
  const own = attributes.replaceAll(/ (?:class|id)="[^"]*"/g, '');
  const drawn =
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" ` +
    `font-family="'Atkinson Hyperlegible Next', system-ui, sans-serif"${own}>` +
    `<title>${escaped(heading)}</title><rect width="${width}" height="${height}" fill="var(--paper)"/>${inner}</svg>`;
  return `<?xml version="1.0" encoding="UTF-8"?>\n${drawn.replaceAll(/var\((--[\w-]+)\)/g, (_whole, name: string) => PLOT_COLOURS[name] ?? '#1d1916')}\n`;
}
