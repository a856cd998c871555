/** Hands a text to the browser to be saved under a name, as if it were a link to it. */
export function saveFile(name: string, text: string): void {
  const address = URL.createObjectURL(new Blob([text], { type: 'application/json' }));
  const link = document.createElement('a');
  link.href = address;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  // The browser has begun to save it by then.
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}
