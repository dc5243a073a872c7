// Keys for the whole page. Those without Ctrl can be turned off, as some people speak to their
// machine and others rest a hand on the keyboard.
export const SHORTCUTS: { keys: string; text: string }[] = [
  { keys: 'Ctrl Z', text: 'undo (Cmd on some keyboards)' },
  { keys: 'Ctrl Shift Z', text: 'redo; Ctrl Y too' },
  { keys: 'Ctrl S', text: 'save in the folder' },
  { keys: '1 … 5', text: 'go to a question' },
  { keys: 'f', text: 'go to the flat blank' },
  { keys: 'c', text: 'go to the folded case' },
  { keys: 's', text: 'go to how far it is folded' },
  { keys: '[ ]', text: 'panel before, next panel' },
  { keys: 'w', text: 'see all styles of case' },
  { keys: 'm', text: 'map of sizes' },
  { keys: 'i', text: 'from the things to the case' },
  { keys: 't', text: 'from the case to the truck' },
  { keys: '6 … 9', text: 'the case, the stock, layouts, cutting' },
  { keys: 'r a', text: 'a range of sizes, the first article' },
  { keys: '?', text: 'this page' },
  { keys: 'Space', text: 'cutting: play and pause' },
  { keys: '← →', text: 'cutting: stroke before, next stroke' },
  { keys: '↑ ↓', text: 'cutting: faster, slower' },
  { keys: '← → ↑ ↓', text: 'in a view: move or turn it' },
  { keys: '+ - 0', text: 'in a view: nearer, farther, all of it' },
  { keys: 'Esc', text: 'in a view: put out the lights' },
];

export const shortcuts = $state({ single: true });

/** Whether a key without Ctrl is meant for the page: not for a field, and not turned off. */
export function single(event: KeyboardEvent): boolean {
  const target = event.target as HTMLElement;
  const field = target.matches('input:not([type=radio], [type=range], [type=checkbox]), select, textarea');
  return shortcuts.single && !field && !event.ctrlKey && !event.metaKey && !event.altKey;
}
