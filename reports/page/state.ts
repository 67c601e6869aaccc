// What the reader has chosen, kept in the fragment of the page's address, so that a link shows the same.
import {allows} from "./data";
import {addressOf, addressesOf, type Model, type Result, type View} from "./model";
import type {Grouping} from "./breakout";
import {groupings} from "./breakout";

export const views = ["read", "ask", "trace", "recheck"] as const;
export type ViewName = typeof views[number];

export interface State {
    view: ViewName;
    scenario: string;
    product: string;
    per: string;
    electricity: View;
    indicator: string;
    by: Grouping;
    reference: string;
    target: string;
    against: string;
    traced: string;
    /** On Trace: the group of a break-out `by` that is opened, and the figure that the one traced is held against. */
    part: string;
    beside: string;
}

const mainPers = ["t", "roll", "bundle", "pack", "case", "sheet", "m2", "period"];

/** Units of a product in the order of interest, without counts that are not whole. */
export function persOf(model: Model, scenario: string, product: string): string[] {
    const pers = model.subject(scenario, product)?.pers.filter(per => !per.endsWith("_unrounded")) ?? [];
    return [...mainPers.filter(per => pers.includes(per)), ...pers.filter(per => !mainPers.includes(per))];
}

export function firstProduct(model: Model, scenario: string): string {
    const subjects = model.subjects(scenario);
    const kinds = ["consumer_product", "mill_product", "line", "all"];
    for (const kind of kinds) {
        const found = subjects.find(one => one.kind === kind);
        if (found) return found.id;
    }
    return subjects[0]?.id ?? "";
}

function oneOf<T extends string>(word: string | null, allowed: readonly T[], otherwise: T): T {
    return allowed.find(one => one === word) ?? otherwise;
}

/** "@SCENARIO" or "=PRODUCT" where there is one, else "". */
function comparedWith(model: Model, scenario: string, word: string): string {
    const id = word.slice(1);
    const known = word.startsWith("@") ? model.scenarios.has(id) : word.startsWith("=") && model.subject(scenario, id) !== undefined;
    return known ? word : "";
}

/** The state that a fragment asks for; what it does not say, or says wrongly, has its default. */
export function readState(model: Model, fragment: string): State {
    const [name = "", query = ""] = fragment.replace(/^#/, "").split("?", 2);
    const asked = new URLSearchParams(query);
    const scenario = model.scenarios.has(asked.get("scenario") ?? "") ? asked.get("scenario")! : "today";
    const product = model.subject(scenario, asked.get("product") ?? "") ? asked.get("product")! : firstProduct(model, scenario);
    const pers = persOf(model, scenario, product);
    const indicators = [...model.indicators.keys()];
    return {
        view: oneOf(name, views, "read"),
        scenario,
        product,
        per: oneOf(asked.get("per"), pers, pers[0] ?? "t"),
        electricity: oneOf(asked.get("electricity"), ["market", "location"], model.head(scenario).electricity),
        indicator: oneOf(asked.get("indicator"), indicators, "climate"),
        by: oneOf(asked.get("by"), groupings, "stage"),
        reference: asked.get("reference") ?? "",
        target: asked.get("target") ?? "",
        against: comparedWith(model, scenario, asked.get("against") ?? ""),
        traced: asked.get("of") ?? "",
        part: asked.get("part") ?? "",
        beside: asked.get("beside") ?? "",
    };
}

/** Inputs that a fragment moves: set=ADDRESS~VALUE; and as written those that cannot be moved so. */
export interface Changes { changes: Map<number, number>; refused: string[] }

export function readChanges(model: Model, fragment: string): Changes {
    const changes = new Map<number, number>();
    const refused: string[] = [];
    for (const text of new URLSearchParams(fragment.split("?", 2)[1] ?? "").getAll("set")) {
        const cut = text.lastIndexOf("~");
        const node = model.find(text.slice(0, cut));
        const value = Number(text.slice(cut + 1));
        const input = node === undefined ? undefined : model.calculation.inputs.get(node);
        const isNumber = cut >= 0 && text.slice(cut + 1).trim() !== "" && Number.isFinite(value);
        if (input && isNumber && allows(input, value)) changes.set(input.n, value);
        else refused.push(text);
    }
    return {changes, refused};
}

/** What a fragment asks to be shown that is not here, as written; its default is shown instead. */
export function unknownWishes(model: Model, fragment: string): string[] {
    const asked = new URLSearchParams(fragment.split("?", 2)[1] ?? "");
    const state = readState(model, fragment);
    const named: Record<string, string> = {scenario: state.scenario, product: state.product, per: state.per, electricity: state.electricity,
        indicator: state.indicator, by: state.by, against: state.against};
    return Object.entries(named).filter(([name, value]) => asked.has(name) && asked.get(name) !== value).map(([name]) => `${name} ${asked.get(name)}`);
}

const written = new WeakMap<Model, { at: number; text: string }>();

/** What has moved, as a fragment says it; kept, since every link of a page says it. */
function changesText(model: Model): string {
    const {changes: at, changed, inputs} = model.calculation;
    const known = written.get(model);
    if (known?.at === at) return known.text;
    const query = new URLSearchParams([...changed].map(([node, value]) => ["set", `${addressesOf(inputs.get(node)!)[0]}~${value}`]));
    const text = query.toString();
    written.set(model, {at, text});
    return text;
}

/** The fragment of a state, with what is otherwise than the default. */
export function fragmentOf(model: Model, state: State): string {
    const query = new URLSearchParams();
    const put = (name: string, value: string, usual: string) => { if (value !== usual) query.set(name, value); };
    put("scenario", state.scenario, "today");
    put("product", state.product, firstProduct(model, state.scenario));
    put("per", state.per, persOf(model, state.scenario, state.product)[0] ?? "t");
    put("electricity", state.electricity, model.head(state.scenario).electricity);
    put("indicator", state.indicator, "climate");
    put("by", state.by, "stage");
    put("reference", state.reference, "");
    put("target", state.target, "");
    put("against", state.against, "");
    if (state.view === "trace") {
        put("of", state.traced, "");
        put("part", state.part, "");
        put("beside", state.beside, "");
    }
    const text = [query.toString(), changesText(model)].filter(part => part !== "").join("&");
    return `#${state.view}${text === "" ? "" : `?${text}`}`;
}

/** The node of a result in the view of electricity chosen, and its address. */
export function nodeOf(result: Result, electricity: View): number {
    return result.nodes[electricity];
}

export function addressIn(model: Model, result: Result, electricity: View): string {
    const address = addressOf(result);
    return electricity === model.head(result.scenario).electricity ? address : `${address}.${electricity}`;
}
