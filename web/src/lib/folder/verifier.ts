import { mount } from 'svelte';
import FolderDesk from './FolderDesk.svelte';

// The script of verify.html in an exported folder: one file, since a page opened from disk may not load modules.
const target = document.getElementById('desk');
if (target) {
  target.replaceChildren();
  mount(FolderDesk, { target });
}
