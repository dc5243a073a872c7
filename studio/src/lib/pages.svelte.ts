// The pages. The address line says which one is open: nothing but a case after the `#` is the
// case's own page; `#contents`, `#ship`, `#stock`, `#layout`, `#cut` and so on are the others, with the case behind a dot.
export const PAGES = [
  { name: 'contents', text: 'Contents', key: 'i' },
  { name: 'case', text: 'Case', key: '6' },
  { name: 'ship', text: 'Ship', key: 't' },
  { name: 'stock', text: 'Stock', key: '7' },
  { name: 'layout', text: 'Layout', key: '8' },
  { name: 'cut', text: 'Cut', key: '9' },
  { name: 'range', text: 'Range', key: 'r' },
  { name: 'article', text: 'First article', key: 'a' },
] as const;

export type PageName = (typeof PAGES)[number]['name'];

/** Takes the part after the `#` apart: which page, and the case. */
export function split(hash: string): { page: PageName; rest: string } {
  const text = hash.replace(/^#/, '');
  const [head, rest = ''] = text.split('.', 2) as [string, string?];
  const found = PAGES.find((p) => p.name === head);
  return found ? { page: found.name, rest } : { page: 'case', rest: text };
}

export const join = (page: PageName, rest: string) => (page === 'case' ? `#${rest}` : `#${page}.${rest}`);

class Pages {
  now = $state<PageName>(split(location.hash).page);
  /** The layout file that the cut page is to open, when it was chosen elsewhere. */
  wanted = $state<string | null>(null);
  title = $derived(PAGES.find((p) => p.name === this.now)!.text);

  /** Opens a page as a step that the browser's back button takes back. */
  go(name: PageName): void {
    if (name !== this.now) location.hash = name;
  }
}

export const pages = new Pages();
