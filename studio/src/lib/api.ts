import type { Board, Design, Failure, Job, JobEntry, State, Style, SweepLine, Unit, Vary } from '../wire';

/** What the server said when it refused. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly failure: Failure,
  ) {
    super(failure.message);
  }
}

async function answer(path: string, init?: RequestInit): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(path, init);
  } catch (cause) {
    if (cause instanceof DOMException && cause.name === 'AbortError') throw cause;
    throw new Refused(0, { code: 'no-answer', message: 'The studio does not answer. Is it still running in its window?' });
  }
  if (response.ok) return response;
  let failure: Failure = { code: 'refused', message: `The studio answered with status ${response.status}.` };
  try {
    const body = (await response.json()) as { error?: Failure };
    if (body.error) failure = body.error;
  } catch {
    // Not JSON: the status line has to do.
  }
  throw new Refused(response.status, failure);
}

function send(method: string, body: unknown, signal?: AbortSignal): RequestInit {
  const init: RequestInit = { method, headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) };
  if (signal) init.signal = signal;
  return init;
}

async function read<T>(path: string, init?: RequestInit): Promise<T> {
  return (await (await answer(path, init)).json()) as T;
}

const jobPath = (name: string) => `/api/jobs/${name.split('/').map(encodeURIComponent).join('/')}`;

export const styles = () => read<Style[]>('/api/styles');
export const boards = () => read<Board[]>('/api/boards');
export const design = (state: State, signal: AbortSignal) => read<Design>('/api/design', send('POST', state, signal));
export const jobs = () => read<JobEntry[]>('/api/jobs');
export const openJob = (name: string) => read<Job>(jobPath(name));
export const saveJob = (name: string, stamp: string | null, state: State) =>
  read<{ stamp: string }>(jobPath(name), send('PUT', { stamp, state }));

export const picture = (style: string, theme: string) =>
  `/api/styles/${encodeURIComponent(style)}/picture.svg?theme=${theme}`;

export interface Bytes {
  name: string;
  blob: Blob;
}

export async function file(state: State, kind: string, unit: Unit, piece?: string): Promise<Bytes> {
  const response = await answer('/api/file', send('POST', piece ? { state, kind, unit, piece } : { state, kind, unit }));
  const named = /filename="([^"]+)"/.exec(response.headers.get('content-disposition') ?? '');
  return { name: named?.[1] ?? kind, blob: await response.blob() };
}

/** Reads a sweep line by line as the server works through it. */
export async function* sweep(state: State, vary: Vary[], signal: AbortSignal): AsyncGenerator<SweepLine> {
  const response = await answer('/api/sweep', send('POST', { state, vary }, signal));
  const reader = response.body!.pipeThrough(new TextDecoderStream()).getReader();
  let rest = '';
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    const lines = (rest + value).split('\n');
    rest = lines.pop() ?? '';
    for (const line of lines) if (line.trim()) yield JSON.parse(line) as SweepLine;
  }
  if (rest.trim()) yield JSON.parse(rest) as SweepLine;
}
