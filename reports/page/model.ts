// The study as the views ask for it: its results by product, unit and indicator, addresses both ways, and what the
// reader has chosen. Values come from the calculation alone.
import {Calculation} from "./calculation";
import type {Bound, Carried, HeadData, IndicatorData, InputData, PageData, ScenarioData, SubjectData, UncertainRow} from "./data";

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
    private readonly results = new Map<string, Result>();
    private readonly byAddress = new Map<string, number>();
    private readonly names = new Map<number, string>();
    private readonly resultAt = new Map<number, Result>();
    private readonly spreadParameters = new Set<number>();

    constructor({graph, page}: Carried) {
        this.page = page;
        const begin = performance.now();
        this.calculation = new Calculation(graph);
        const milliseconds = performance.now() - begin;
        for (const one of page.indicators) this.indicators.set(one.id, one);
        for (const [address, node] of graph.names) this.nameNode(address, node);
        for (const input of graph.inputs) {
            for (const address of addressesOf(input)) this.nameNode(address, input.n);
            for (const node of input.spread?.parameters ?? []) if (node !== null) this.spreadParameters.add(node);
        }
        for (const scenario of page.scenarios) this.addScenario(scenario);
        this.recheck = this.checkAgain(milliseconds);
    }

    private nameNode(address: string, node: number): void {
        this.byAddress.set(address, node);
        if (!this.names.has(node)) this.names.set(node, address);
    }

    private addScenario(scenario: ScenarioData): void {
        this.scenarios.set(scenario.id, scenario);
        for (const {of, per, rows} of scenario.results) {
            for (const [indicator, node, market, location, bound, oneNumber, covered, unit] of rows) {
                const result: Result = {
                    scenario: scenario.id, of, per, indicator: this.page.indicators[indicator]!.id,
                    nodes: {headline: node, market, location}, bound, oneNumber, covered, unit,
                };
                this.results.set(keyOf(result), result);
                const address = addressOf(result);
                this.nameNode(address, node);
                this.nameNode(`${address}.market`, market);
                this.nameNode(`${address}.location`, location);
                if (!this.resultAt.has(node)) this.resultAt.set(node, result);
            }
        }
    }

    private checkAgain(milliseconds: number): Recheck {
        const {nodes, values} = this.page.checked;
        const recheck: Recheck = {results: this.results.size, figures: nodes.length, nodes: this.calculation.size, same: 0,
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
        return this.results.get(keyOf({scenario, of, per, indicator}));
    }
    allResults(): Iterable<Result> { return this.results.values(); }

    /** The node of an address, of an input or result. */
    find(address: string): number | undefined { return this.byAddress.get(address); }
    /** The first address of a node, or "". */
    nameOf(node: number): string { return this.names.get(node) ?? ""; }
    resultOf(node: number): Result | undefined { return this.resultAt.get(node); }
    addresses(): Iterable<[string, number]> { return this.byAddress.entries(); }

    isSpreadParameter(node: number): boolean { return this.spreadParameters.has(node); }

    uncertain(result: Result): UncertainRow | undefined {
        return this.page.uncertainty.rows.find(row => row.scenario === result.scenario && row.of === result.of &&
            row.indicator === result.indicator && (row.per === result.per || row.per === `${result.per}_unrounded`));
    }
}

function keyOf({scenario, of, per, indicator}: Pick<Result, "scenario" | "of" | "per" | "indicator">): string {
    return [scenario, of, per, indicator].join("\n");
}

export function addressOf({scenario, of, per, indicator}: Pick<Result, "scenario" | "of" | "per" | "indicator">): string {
    return `${scenario === "today" ? "results" : `results@${scenario}`}.${of}.${per}.${indicator}`;
}

export function addressesOf(input: InputData): string[] {
    return typeof input.address === "string" ? [input.address] : input.address;
}
