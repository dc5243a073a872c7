import type { Bytes } from './api';

/** Hands bytes to the browser's downloads. */
export function keep({ name, blob }: Bytes): void {
  const url = URL.createObjectURL(blob);
  const link = document.createElement('a');
  link.href = url;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}

export const words = (cause: unknown) => (cause instanceof Error ? cause.message : String(cause));
