// The study as the views ask for it: its results by product, unit and indicator, addresses both ways, and what the
// reader has chosen. Values come from the calculation alone.
import {Calculation} from "./calculation";
import {bounds, type Bound} from "./data";
import {significant, spaced} from "./words";
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

/** A number that a scenario must not lead to. */
export interface Refusal { node: number; text: string }

const closeEnough = 1e-12;
const isWhole = ([, low, high]: ScenarioData["limits"][number]) => low !== null && high !== null && low > 0.9 * high;

export class Model {
    readonly page: PageData;
    readonly calculation: Calculation;
    readonly recheck: Recheck;
    readonly indicators = new Map<string, IndicatorData>();
    readonly scenarios = new Map<string, ScenarioData>();
    /** Made when first asked for: what is not looked at costs no time on loading. */
    private readonly results = new Map<ResultRow, Result>();
    private readonly groups = new Map<string, Map<string, ResultRow[]>>();
    private names: { byAddress: Map<string, number>; byNode: Map<number, string>; resultAt: Map<string, Result> } | undefined;
    private readonly spreadParameters = new Set<number>();
    private readonly uses = new Map<number, Set<string>>();
    private readonly limitNodes = new Map<string, number[]>();
    private weighing: Set<string> | undefined;
    private titleCounts: Map<string, number> | undefined;
    private refused: { at: number; scenario: string; list: Refusal[] } | undefined;

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
            byNode: new Map<number, string>(), resultAt: new Map<string, Result>()};
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
            resultAt.set(address, result);
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

    /** What the engine computed of a result's node, for the inputs as typed. */
    typedValue(node: number): number | null {
        const {nodes, values} = this.page.checked;
        const at = nodes.indexOf(node);
        return at < 0 ? null : values[at]!;
    }

    /** The node of an address, of an input or result. */
    find(address: string): number | undefined { return this.named.byAddress.get(address); }
    /** The first address of a node, or "". */
    nameOf(node: number): string { return this.named.byNode.get(node) ?? ""; }
    /** The result of an address, of either view of electricity. By its address alone: equal results share a node. */
    resultOf(address: string): Result | undefined { return this.named.resultAt.get(address.replace(/\.(market|location)$/, "")); }
    addresses(): Iterable<[string, number]> { return this.named.byAddress.entries(); }

    isSpreadParameter(node: number): boolean { return this.spreadParameters.has(node); }

    /** The title of what an address names, with its mill or table where another has the same; "" without one. */
    ownTitle(address: string): string {
        const {titles} = this.page;
        if (!Object.hasOwn(titles, address)) return "";
        this.titleCounts ??= Object.values(titles).reduce((counts, title) => counts.set(title, (counts.get(title) ?? 0) + 1), new Map<string, number>());
        const title = titles[address]!;
        return this.titleCounts.get(title) === 1 ? title : `${title} (${address.split(".")[0]!})`;
    }

    /** Whether an input is a weight of a method: a warming potential or a scarcity factor, which is a rule and no lever of a mill. */
    isWeight(input: InputData): boolean {
        this.weighing ??= new Set(this.page.scenarios.flatMap(({study}) => [study.characterization, ...study.gwp_sets, study.scarcity ?? ""]));
        return addressesOf(input).every(address => this.weighing!.has(address.split(".")[0]!));
    }

    /** An address in words: the title of what it belongs to, with the rest of it; "" where that has no title. */
    titleOf(address: string): string {
        const words = address.split(".");
        for (let k = words.length; k > 0; --k) {
            const begin = words.slice(0, k).join(".");
            if (Object.hasOwn(this.page.titles, begin)) return [this.page.titles[begin]!, spaced(words.slice(k).join("_"))].filter(text => text !== "").join(": ");
        }
        return "";
    }

    /** The rules that two scenarios do not share, in words: their figures do not compare, as deckle compare has it. */
    unlikeRules(one: string, other: string): string[] {
        const rules = (id: string): [string, string][] => {
            const {study, allocation} = this.scenarios.get(id)!;
            return [["characterization", study.characterization], ["scarcity", study.scarcity ?? "none"], ["prices", study.prices || "none"],
                ["electricity", study.electricity], ["rules", study.rules ? `${study.rules.id} ${study.rules.version}` : "none"], ["allocation", allocation.replace(/^allocation: /, "") || "as the mills state it"]];
        };
        const others = rules(other);
        return rules(one).flatMap(([what, value], k) => value === others[k]![1] ? [] : [`${what}: ${value}`]);
    }

    /** The scenarios that an input can be changed in: a result rests on it, or it is one of shares that add up to a whole. */
    usedIn(input: number): Set<string> {
        const known = this.uses.get(input);
        if (known) return known;
        const flags = new Uint8Array(this.calculation.size);
        for (const n of this.calculation.dependents(input)) flags[n] = 1;
        const used = new Set(this.page.scenarios.filter(scenario => scenario.results.some(({rows}) =>
            rows.some(([, , market, location]) => flags[market] || flags[location])) || scenario.limits.some(limit => isWhole(limit) && flags[limit[0]])).map(scenario => scenario.id));
        this.uses.set(input, used);
        return used;
    }

    /** Why the engine would refuse a scenario of the changes that stands on this one: numbers that are tied to each other. */
    refusals(scenario: string): Refusal[] {
        const at = this.calculation.changes;
        if (this.refused?.at !== at || this.refused.scenario !== scenario) this.refused = {at, scenario, list: this.findRefusals(scenario)};
        return this.refused.list;
    }

    private findRefusals(scenario: string): Refusal[] {
        const {calculation} = this;
        if (calculation.changed.size === 0) return [];
        const {limits} = this.scenarios.get(scenario)!;
        const nodes = this.limitNodes.get(scenario) ?? limits.map(([node]) => node);
        this.limitNodes.set(scenario, nodes);
        const values = calculation.valuesOf(nodes);
        const found = new Map<number, Refusal>();
        limits.forEach((limit, k) => {
            const [node, low, high, what] = limit;
            const value = values[k]!;
            if ((low === null || value >= low) && (high === null || value <= high)) return;
            found.set(node, {node, text: isWhole(limit) ? `${what} add up to ${Number((200 * value / (low! + high!)).toPrecision(6))} %, not to 100 %${this.unmoved(node)}` : `${what} would be ${significant(value, 4)} ${calculation.unitOf(node)}`.trim()});
        });
        return [...found.values()];
    }

    /** Which of the numbers that are tied to each other has not moved: one kind of limit stands in many products. */
    private unmoved(node: number): string {
        const still = this.calculation.inputsBelow(node).filter(input => !this.calculation.changed.has(input.n) && !this.isSpreadParameter(input.n));
        const names = still.slice(0, 3).map(input => addressesOf(input)[0]!).map(address => `“${this.titleOf(address) || address}”`);
        return names.length === 0 ? "" : `, beside ${names.join(", ")}${still.length > names.length ? ` and ${still.length - names.length} more` : ""}`;
    }

    /** How many inputs a result rests on, and how many of them state a spread. */
    spreadsBelow(result: Result): { all: number; stated: number } {
        const inputs = this.calculation.inputsBelow(result.nodes.headline).filter(input => !this.isSpreadParameter(input.n));
        return {all: inputs.length, stated: inputs.filter(input => input.spread).length};
    }

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
