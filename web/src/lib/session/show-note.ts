/** Brings a note that stands at no single field into sight; notes at fields have got the focus already. */
export function showNote(form: HTMLElement | undefined): void {
  if (form?.querySelector('[aria-invalid="true"]')) return;
  form?.querySelector('.error')?.scrollIntoView({ block: 'center' });
}
