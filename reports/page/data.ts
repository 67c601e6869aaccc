// What the page carries: the calculation graph as reports/graph_json.h describes it, and beside it what
// reports/page_data.cpp writes. Unpacked once, on loading.

export interface Place { file: string; line: number; column: number; length: number }

export interface InputData {
    n: number;
    address: string | string[];
    value: number;
    typed: string;
    spread?: { kind: string; relative: boolean; parameters: (number | null)[] };
    bounds: [number | null, number | null];
    /** Of whole things, from 1 up to so many. */
    counts_to?: number;
    source: number;
    note: string;
    amount_is: string;
}

/** The least and the most that an input may be; null where it is open. */
export function endsOf(input: InputData): [number | null, number | null] {
    return input.counts_to === undefined ? input.bounds : [1, input.counts_to];
}

/** Whether the engine takes a value for an input that a scenario sets. */
export function allows(input: InputData, value: number): boolean {
    const [low, high] = endsOf(input);
    return Number.isFinite(value) && (low === null || value >= low) && (high === null || value <= high)
        && (input.counts_to === undefined || Number.isInteger(value));
}

export interface SolveData {
    n: number;
    size: number;
    right_sides: number;
    entries: [number, number][];
    order: number[];
    unknowns: string[];
}

export interface GraphData {
    operations: string[];
    units: string[];
    rules: string[];
    sources: string[];
    files: { path: string; sha256: string }[];
    operation: number[];
    unit: number[];
    start: number[];
    count: number[];
    arguments: number[];
    origin: [number, number, number, number, number][];
    constants: [number, number][];
    inputs: InputData[];
    converts: [number, number, number, string, string][];
    solves: SolveData[];
    tags: [string, string, string, string, string, string][];
    burdens: [number, number[]][];
    not_covered: [number, string, string, boolean][];
    not_negative: [number, string][];
    names: [string, number][];
}

export interface IndicatorData { id: string; title: string; unit: string; memo: boolean }

export interface SubjectData {
    id: string;
    title: string;
    kind: "mill_product" | "consumer_product" | "line" | "all";
    pers: string[];
    whole_count: number | null;
    exact_count: number | null;
    at: Place | null;
}

export interface HeadData {
    title: string;
    owner: string | null;
    period: string;
    boundary: string;
    characterization: string;
    gwp_sets: string[];
    electricity: "market" | "location";
    one_electricity_view: boolean;
    scarcity: string | null;
    scarcity_model: string | null;
    scarcity_version: string | null;
    prices: string;
    rules: { id: string; version: string } | null;
    rules_text: string;
    exempted: string[];
}

export const bounds = ["exact", "at_least", "at_most", "open"] as const;
export type Bound = typeof bounds[number];
/** Numbers alone, since there are tens of thousands: `bound` counts in `bounds`; of `flags` 1 is one number for both
 *  views, 2 covered. The unit is the indicator's. */
export type ResultRow = [indicator: number, node: number, market: number, location: number, bound: number, flags: number];

export interface ScenarioData {
    id: string;
    title: string;
    note: string;
    on: string[];
    steps: { change: string; reason: string; scenario: string; at: Place | null }[];
    allocation: string;
    /** What the engine refuses beyond: low and high ends, null where open. */
    limits: [node: number, low: number | null, high: number | null, what: string][];
    study: HeadData;
    subjects: SubjectData[];
    results: { of: string; per: string; rows: ResultRow[] }[];
    uncovered: { indicator: string; factor: string; uses: string[]; one_number: boolean }[];
}

export interface UncertainRow {
    address: string;
    scenario: string;
    of: string;
    per: string;
    indicator: string;
    mean: number;
    standard_uncertainty: number;
    median: number;
    low: number;
    high: number;
    least: number;
    most: number;
    counts: number[];
}

export interface PageData {
    program: string;
    seal: string;
    indicators: IndicatorData[];
    scenarios: ScenarioData[];
    /** By what addresses of amounts begin with: a factor, a mill, a process, a product. */
    titles: Record<string, string>;
    note: string;
    findings: { code: string; message: string; hint: string; above_limit: boolean; at: Place | null }[];
    checked: { nodes: number[]; values: number[] };
    uncertainty: {
        draws: number;
        seed: number;
        with_spread: number;
        without_spread: number;
        why: string;
        rows: UncertainRow[];
    };
}

export interface Carried { graph: GraphData; page: PageData }

/** Read piece by piece: through a Blob and a Response it takes three times as long. It is ASCII alone. */
async function unpacked(bytes: Uint8Array<ArrayBuffer>): Promise<string> {
    const stream = new DecompressionStream("gzip");
    const writer = stream.writable.getWriter();
    const written = writer.write(bytes).then(() => writer.close());
    const reader = stream.readable.getReader();
    const decoder = new TextDecoder("latin1");
    let text = "";
    for (let piece = await reader.read(); !piece.done; piece = await reader.read()) text += decoder.decode(piece.value);
    await written;
    return text;
}

/** The data inside the page. Throws where the browser cannot unpack it. */
export async function carried(): Promise<Carried> {
    const text = document.getElementById("data")!.textContent!;
    const letters = atob(text);
    const bytes = new Uint8Array(letters.length);
    for (let k = 0; k < letters.length; ++k) bytes[k] = letters.charCodeAt(k);
    return JSON.parse(await unpacked(bytes)) as Carried;
}
