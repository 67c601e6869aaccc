// The study as the views ask for it: its results by product, unit and indicator, addresses both ways, and what the
// reader has chosen. Values come from the calculation alone.
import {Calculation} from "./calculation";
import {bounds, type Bound} from "./data";
import type {Carried, HeadData, IndicatorData, InputData, PageData, ResultRow, ScenarioData, SubjectData, UncertainRow} from "./data";

export type View = "market" | "location";

export interface Result {
    scenario: string;
    of: string;
    per: string;
    indicator: string;
    nodes: Record<View | "headline", number>;
    bound: Bound;
    oneNumber: boolean;
    covered: boolean;
    unit: string;
}

export interface Recheck {
    results: number;
    figures: number;
    nodes: number;
    same: number;
    close: number;
    differing: { address: string; engine: number; here: number }[];
    milliseconds: number;
}

const closeEnough = 1e-12;

export class Model {
    readonly page: PageData;
    readonly calculation: Calculation;
    readonly recheck: Recheck;
    readonly indicators = new Map<string, IndicatorData>();
    readonly scenarios = new Map<string, ScenarioData>();
    /** Made when first asked for: what is not looked at costs no time on loading. */
    private readonly results = new Map<ResultRow, Result>();
    private readonly groups = new Map<string, Map<string, ResultRow[]>>();
    private names: { byAddress: Map<string, number>; byNode: Map<number, string>; resultAt: Map<number, Result> } | undefined;
    private readonly spreadParameters = new Set<number>();

    constructor({graph, page}: Carried) {
        this.page = page;
        const begin = performance.now();
        this.calculation = new Calculation(graph);
        const milliseconds = performance.now() - begin;
        for (const one of page.indicators) this.indicators.set(one.id, one);
        for (const input of graph.inputs) {
            for (const node of input.spread?.parameters ?? []) if (node !== null) this.spreadParameters.add(node);
        }
        for (const scenario of page.scenarios) this.scenarios.set(scenario.id, scenario);
        this.recheck = this.checkAgain(milliseconds);
    }

    private rowsOf(scenario: string, of: string, per: string): ResultRow[] {
        let groups = this.groups.get(scenario);
        if (!groups) {
            groups = new Map((this.scenarios.get(scenario)?.results ?? []).map(group => [`${group.of}\n${group.per}`, group.rows]));
            this.groups.set(scenario, groups);
        }
        return groups.get(`${of}\n${per}`) ?? [];
    }

    private made(scenario: string, of: string, per: string, row: ResultRow): Result {
        const known = this.results.get(row);
        if (known) return known;
        const [indicator, node, market, location, bound, flags] = row;
        const {id, unit} = this.page.indicators[indicator]!;
        const result = {scenario, of, per, indicator: id, nodes: {headline: node, market, location},
            bound: bounds[bound]!, oneNumber: (flags & 1) !== 0, covered: (flags & 2) !== 0, unit};
        this.results.set(row, result);
        return result;
    }

    /** Addresses both ways, of inputs and named numbers and of every result in both views of electricity. */
    private get named() {
        if (this.names) return this.names;
        const {graph, byAddress, byNode, resultAt} = {graph: this.calculation.data, byAddress: new Map<string, number>(),
            byNode: new Map<number, string>(), resultAt: new Map<number, Result>()};
        const name = (address: string, node: number) => {
            byAddress.set(address, node);
            if (!byNode.has(node)) byNode.set(node, address);
        };
        for (const [address, node] of graph.names) name(address, node);
        for (const input of graph.inputs) for (const address of addressesOf(input)) name(address, input.n);
        for (const result of this.allResults()) {
            const {headline, market, location} = result.nodes;
            const address = addressOf(result);
            name(address, headline);
            name(`${address}.market`, market);
            name(`${address}.location`, location);
            if (!resultAt.has(headline)) resultAt.set(headline, result);
        }
        return this.names = {byAddress, byNode, resultAt};
    }

    private checkAgain(milliseconds: number): Recheck {
        const {nodes, values} = this.page.checked;
        const results = this.page.scenarios.reduce((sum, scenario) => scenario.results.reduce((all, {rows}) => all + rows.length, sum), 0);
        const recheck: Recheck = {results, figures: nodes.length, nodes: this.calculation.size, same: 0,
            close: 0, differing: [], milliseconds};
        nodes.forEach((node, k) => {
            const engine = values[k]!, here = this.calculation.value[node]!;
            if (engine === here) ++recheck.same;
            else if (Math.abs(here - engine) <= closeEnough * Math.abs(engine)) ++recheck.close;
            else recheck.differing.push({address: this.nameOf(node), engine, here});
        });
        return recheck;
    }

    head(scenario: string): HeadData { return this.scenarios.get(scenario)!.study; }
    subjects(scenario: string): SubjectData[] { return this.scenarios.get(scenario)!.subjects; }
    subject(scenario: string, id: string): SubjectData | undefined {
        return this.subjects(scenario).find(one => one.id === id);
    }
    result(scenario: string, of: string, per: string, indicator: string): Result | undefined {
        const row = this.rowsOf(scenario, of, per).find(([number]) => this.page.indicators[number]!.id === indicator);
        return row && this.made(scenario, of, per, row);
    }
    allResults(): Result[] { 
        return this.page.scenarios.flatMap(scenario => scenario.results.flatMap(({of, per, rows}) => rows.map(row => this.made(scenario.id, of, per, row))));
    }

    /** The node of an address, of an input or result. */
    find(address: string): number | undefined { return this.named.byAddress.get(address); }
    /** The first address of a node, or "". */
    nameOf(node: number): string { return this.named.byNode.get(node) ?? ""; }
    resultOf(node: number): Result | undefined { return this.named.resultAt.get(node); }
    addresses(): Iterable<[string, number]> { return this.named.byAddress.entries(); }

    isSpreadParameter(node: number): boolean { return this.spreadParameters.has(node); }

    uncertain(result: Result): UncertainRow | undefined {
        return this.page.uncertainty.rows.find(row => row.scenario === result.scenario && row.of === result.of &&
            row.indicator === result.indicator && (row.per === result.per || row.per === `${result.per}_unrounded`));
    }
}

export function addressOf({scenario, of, per, indicator}: Pick<Result, "scenario" | "of" | "per" | "indicator">): string {
    return `${scenario === "today" ? "results" : `results@${scenario}`}.${of}.${per}.${indicator}`;
}

export function addressesOf(input: InputData): string[] {
    return typeof input.address === "string" ? [input.address] : input.address;
}
