import type {
  Board,
  ChooseAsk,
  ChooseShown,
  ContentsAsk,
  ContentsLists,
  ContentsShown,
  CutAsk,
  CutFileKind,
  CutShown,
  Design,
  Failure,
  Fit,
  Job,
  JobEntry,
  LayoutAsk,
  LayoutEntry,
  LayoutLine,
  Machine,
  MeasuredBook,
  MeasuredChange,
  OpenLayout,
  ShipAsk,
  ShipLists,
  ShipShown,
  RangeAsk,
  RangeLine,
  Readings,
  SpreadAsk,
  SpreadLine,
  State,
  StockBook,
  StockChange,
  StripsAsk,
  StripsShown,
  Style,
  SweepLine,
  Unit,
  Vary,
} from '../wire';

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
const layoutPath = (name: string) => `/api/layouts/${encodeURIComponent(name)}`;

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
  return bytes(response, kind);
}

async function bytes(response: Response, otherwise: string): Promise<Bytes> {
  const named = /filename="([^"]+)"/.exec(response.headers.get('content-disposition') ?? '');
  return { name: named?.[1] ?? otherwise, blob: await response.blob() };
}

/** Reads an answer line by line while the server works. */
async function* lines<T>(path: string, body: unknown, signal: AbortSignal): AsyncGenerator<T> {
  const response = await answer(path, send('POST', body, signal));
  const reader = response.body!.pipeThrough(new TextDecoderStream()).getReader();
  let rest = '';
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    const whole = (rest + value).split('\n');
    rest = whole.pop() ?? '';
    for (const line of whole) if (line.trim()) yield JSON.parse(line) as T;
  }
  if (rest.trim()) yield JSON.parse(rest) as T;
}

export const sweep = (state: State, vary: Vary[], signal: AbortSignal) => lines<SweepLine>('/api/sweep', { state, vary }, signal);

export const stock = () => read<StockBook>('/api/stock');
export const changeStock = (stamp: string | null, change: StockChange) => read<StockBook>('/api/stock', send('POST', { stamp, change }));
export const stockText = async () => bytes(await answer('/api/stock/text'), 'stock.kdl');

export const machines = () => read<Machine[]>('/api/machines');
export const layouts = () => read<LayoutEntry[]>('/api/layouts');
export const openLayout = (name: string) => read<OpenLayout>(layoutPath(name));
export const saveLayout = (name: string, stamp: string | null, text: string) =>
  read<{ stamp: string }>(layoutPath(name), send('PUT', { stamp, text }));
export const useLayout = (name: string, layout: string, stock: string | null) =>
  read<StockBook>(`${layoutPath(name)}/use`, send('POST', { layout, stock }));
export const lay = (ask: LayoutAsk, signal: AbortSignal) => lines<LayoutLine>('/api/layout', ask, signal);

export const cut = (ask: CutAsk, signal: AbortSignal) => read<CutShown>('/api/cut', send('POST', ask, signal));
export const cutFile = async (ask: CutAsk, kind: CutFileKind, unit: Unit, sheet: number) =>
  bytes(await answer('/api/cut/file', send('POST', { cut: ask, kind, unit, sheet })), kind);

export const shipLists = () => read<ShipLists>('/api/ship/lists');
export const ship = (ask: ShipAsk, signal: AbortSignal) => read<ShipShown>('/api/ship', send('POST', ask, signal));

export const contentsLists = () => read<ContentsLists>('/api/contents/lists');
export const contents = (ask: ContentsAsk, signal: AbortSignal) => read<ContentsShown>('/api/contents', send('POST', ask, signal));
export const choose = (ask: ChooseAsk, signal: AbortSignal) => read<ChooseShown>('/api/choose', send('POST', ask, signal));
export const shipSheet = async (ask: ShipAsk) => bytes(await answer('/api/ship/sheet', send('POST', ask)), 'shipping.pdf');
export const orders = () => read<{ name: string }[]>('/api/orders');
export const chooseRange = (ask: RangeAsk, signal: AbortSignal) => lines<RangeLine>('/api/range', ask, signal);
export const stopRange = (run: number) => read<{ stopped: boolean }>('/api/range/stop', send('POST', { run }));

export const strips = (ask: StripsAsk) => read<StripsShown>('/api/strips', send('POST', ask));
export const stripsFile = async (ask: StripsAsk, name: string) => bytes(await answer('/api/strips/file', send('POST', { strips: ask, name })), name);
export const readings = (text: string) => read<Readings>('/api/readings', send('POST', { text }));
export const fit = (readings: Readings) => read<Fit>('/api/measured/fit', send('POST', readings));
export const measured = () => read<MeasuredBook>('/api/measured');
export const changeMeasured = (change: MeasuredChange) => read<MeasuredBook>('/api/measured', send('POST', change));
export const spread = (ask: SpreadAsk, signal: AbortSignal) => lines<SpreadLine>('/api/spread', ask, signal);

/** Why something was refused, with its cure. */
export const reason = (cause: unknown) => {
  const text = cause instanceof Error ? cause.message : String(cause);
  const message = cause instanceof Refused && cause.failure.help ? `${text}: ${cause.failure.help}.` : text;
  return message.replaceAll('`', '');
};
