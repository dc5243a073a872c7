/** Scrolls to a place of the page and gives it the focus. */
export function goTo(id: string): void {
  const target = document.getElementById(id);
  target?.scrollIntoView({ block: 'start', behavior: 'instant' });
  target?.focus({ preventScroll: true });
}
