// The view "Trace": how a number came about, step by step down to the line it was typed on; and from an input, what
// rests on it.
import {operations, words} from "deckle-evaluator";
import type {App} from "./app";
import type {InputData} from "./data";
import {h} from "./dom";
import {breakout, termsOf} from "./breakout";
import {addressOf, addressesOf, type Result} from "./model";
import {perText} from "./read";
import {spaced} from "./words";

const symbols: Record<string, string> = {sum: " + ", product: " × ", quotient: " ÷ ", minimum: ", ", maximum: ", "};
const mostHits = 30;
const mostTerms = 40;

const unrounded = (app: App, n: number) => {
    const unit = app.model.calculation.unitOf(n);
    return `${app.model.calculation.value[n]!}${unit === "" ? "" : ` ${unit}`}`;
};
const operationOf = (app: App, n: number) => operations[app.model.calculation.walked.operation[n]!]!;
const ruleOf = (app: App, n: number) => app.model.calculation.data.rules[app.model.calculation.data.origin[n]![4]]!;

function placeOf(app: App, n: number): string {
    const {files, origin} = app.model.calculation.data;
    const [file, line, column] = origin[n]!;
    return file === 0 ? "" : `${files[file - 1]!.path}:${line}:${column}`;
}

/** The operation with its numbers put in. */
function formula(app: App, n: number): string {
    const {calculation} = app.model;
    const a = [...calculation.argumentsOf(n)];
    const text = (node: number) => unrounded(app, node);
    const operation = operationOf(app, n);
    switch (operation) {
        case "sum": case "product": case "quotient":
            return a.length > 6 ? `${words[calculation.walked.operation[n]!]} ${a.length} numbers` : a.map(text).join(symbols[operation]);
        case "sum_of_products":
            return a.length > 6 ? `sum of ${a.length / 2} products` : pairs(a).map(([x, y]) => `${text(x)} × ${text(y)}`).join(" + ");
        case "convert": {
            const [, , , p, q] = calculation.converts.get(n)!;
            return `${text(a[0]!)}${p === "1" ? "" : ` × ${p}`}${q === "1" ? "" : ` ÷ ${q}`}`;
        }
        case "part": return "one unknown of a loop";
        case "solve": return `a loop of ${calculation.solves.get(n)!.size} products, solved together`;
        default: return `${words[calculation.walked.operation[n]!]} ${a.map(text).join(symbols[operation] ?? ", ")}`;
    }
}

function pairs(a: number[]): [number, number][] {
    return Array.from({length: a.length / 2}, (_, k) => [a[2 * k]!, a[2 * k + 1]!]);
}

/** What a term of a sum brings: "gas of boiler house, CO2 fossil". */
function labels(app: App, n: number): string[] {
    const terms = app.model.calculation.burdens.get(n);
    if (!terms) return [];
    return terms.map(tag => {
        const [, process, use, factor, gas] = app.model.calculation.data.tags[tag]!;
        return [use || process, factor && factor !== use ? `by ${factor}` : "", spaced(gas)].filter(word => word !== "").join(", ");
    });
}

/** One number, to be opened. */
function step(app: App, n: number, label = "", open = false): HTMLElement {
    const {calculation} = app.model;
    const operation = operationOf(app, n);
    const name = app.model.nameOf(n);
    const leaf = operation === "input" || operation === "constant";
    const value = h("span", {class: "value"});
    app.follows(() => {
        const answered = calculation.answer(n);
        value.textContent = operation === "solve" ? "" : answered === null ? "no answer" : unrounded(app, n);
        value.classList.toggle("moved", calculation.changed.has(n));
    });
    const head = [value, " ", h("span", {class: "what"}, label || name || ruleOf(app, n) || words[calculation.walked.operation[n]!]!)];
    if (leaf) return h("div", {class: "leaf"}, h("p", {}, ...head), leafFacts(app, n));
    return opened(head, h("div", {class: "body"}), () => stepFacts(app, n), open);
}

/** What is folded away is made when it is first opened: a derivation has tens of thousands of lines. */
function opened(summary: (Node | string)[], body: HTMLElement, parts: () => Node[], open = false): HTMLElement {
    const details = h("details", {}, h("summary", {}, ...summary), body);
    let filled = false;
    const fill = () => {
        if (filled || !details.open) return;
        filled = true;
        body.append(...parts());
    };
    details.addEventListener("toggle", fill);
    if (open) { details.open = true; fill(); }
    return details;
}

function stepFacts(app: App, n: number): Node[] {
    const {calculation} = app.model;
    const name = app.model.nameOf(n), rule = ruleOf(app, n);
    const line = h("p", {class: "formula"});
    app.follows(() => { line.textContent = `= ${formula(app, n)}`; });
    const facts: Node[] = [line];
    if (rule !== "") facts.push(h("p", {class: "rule"}, rule));
    if (placeOf(app, n) !== "") facts.push(h("p", {class: "place"}, placeOf(app, n)));
    if (name !== "" && app.model.find(app.state.traced) !== n) facts.push(h("p", {}, h("a", {href: app.link({traced: name})}, name)));
    const gap = calculation.notCovered.get(n);
    if (gap) facts.push(h("p", {class: "alarm"}, `Not covered: ${gap.subject} does not state ${gap.indicator}`));
    facts.push(operands(app, n));
    return facts;
}

function operands(app: App, n: number): HTMLElement {
    const {calculation} = app.model;
    const a = [...calculation.argumentsOf(n)];
    const list = h("ol", {class: "operands"});
    const marks = labels(app, n);
    const items = operationOf(app, n) === "sum_of_products"
        ? pairs(a).map(([x, y], term) => () => h("li", {}, h("p", {class: "term"}, `${marks[term] ? `${marks[term]}: ` : ""}${calculation.value[x]! * calculation.value[y]!}`), step(app, x), step(app, y)))
        : operationOf(app, n) === "solve" ? equations(app, n)
            : a.map(node => () => h("li", {}, step(app, node)));
    const append = (count: number) => { for (const item of items.splice(0, count)) list.append(item()); };
    append(mostTerms);
    if (items.length === 0) return list;
    const more = h("button", {type: "button", class: "quiet"}, `Show ${items.length} more`);
    more.addEventListener("click", () => { append(items.length); more.remove(); });
    return h("div", {}, list, more);
}

/** The equations of a loop: what is used of what, so that a reader can put the numbers in. */
function equations(app: App, n: number): (() => HTMLElement)[] {
    const {calculation} = app.model;
    const solve = calculation.solves.get(n)!;
    const a = calculation.argumentsOf(n);
    const amounts = solve.entries.map(([row, column], k) => () =>
        h("li", {}, h("p", {class: "term"}, `${solve.unknowns[row]} takes of ${solve.unknowns[column]}`), step(app, a[k]!)));
    const rest = Array.from(a.subarray(solve.entries.length), (node, k) => ({node, row: Math.floor(k / solve.right_sides)}));
    const own = rest.filter(({node}) => calculation.value[node] !== 0)
        .map(({node, row}) => () => h("li", {}, h("p", {class: "term"}, `${solve.unknowns[row]} brings by itself`), step(app, node)));
    return [...amounts, ...own];
}

function leafFacts(app: App, n: number): HTMLElement {
    const {calculation} = app.model;
    const input = calculation.inputs.get(n);
    const place = placeOf(app, n);
    const gap = calculation.notCovered.get(n);
    const source = input ? calculation.data.sources[input.source]! : "";
    const spread = input?.spread ? `spread: ${[input.spread.kind.replaceAll("_", " "), input.spread.parameters.map((_, k) => parameterText(app, input.spread!, k)).join(", ")].filter(text => text !== "").join(" ")}` : "";
    const rule = ruleOf(app, n);
    return h("div", {class: "facts"},
        input ? h("p", {}, `typed ${input.typed || "without a text of its own"}${input.amount_is ? `, ${input.amount_is}` : ""}`) : rule ? h("p", {class: "rule"}, rule) : null,
        place ? h("p", {class: "place"}, place) : null,
        source ? h("p", {class: "source"}, source) : null,
        spread ? h("p", {}, spread) : null,
        input?.note ? h("p", {}, input.note) : null,
        gap ? h("p", {class: "alarm"}, `Not covered: ${gap.subject} does not state ${gap.indicator}`) : null,
        input && app.model.find(app.state.traced) !== n ? h("p", {}, h("a", {href: app.link({view: "trace", traced: addressesOf(input)[0]!})}, "What rests on it")) : null);
}

/** By shape, which parameters are a distance from the value; the others are values or plain numbers. */
const distances: Record<string, number[]> = {normal: [0], student_t: [0], truncated_normal: [0], curvilinear_trapezoid: [2]};

/** A distance from a share in % is in points; one that is relative is in % of the value. */
function parameterText(app: App, {kind, relative, parameters}: NonNullable<InputData["spread"]>, k: number): string {
    const node = parameters[k];
    if (node === null || node === undefined) return "open";
    const isDistance = (distances[kind] ?? []).includes(k);
    if (isDistance && relative) return `${Number((100 * app.model.calculation.value[node]!).toPrecision(12))} % of value`;
    return isDistance && app.model.calculation.unitOf(node) === "%" ? `${app.model.calculation.value[node]!} points` : unrounded(app, node);
}

/** A part of a result: the amounts and factors that bring it. */
function partOf(app: App, n: number): HTMLElement {
    const {by, part} = app.state;
    const {data, value} = app.model.calculation;
    const terms = termsOf(app.model.calculation, n, by, part).filter(({amount, factor}) => value[amount] !== 0 && value[factor] !== 0);
    const list = h("ol", {class: "operands"});
    const append = (count: number) => {
        for (const {tag, amount, factor} of terms.splice(0, count)) {
            const [, process, use, source, gas] = data.tags[tag]!;
            list.append(h("li", {}, h("p", {class: "term"}, [process, use, source && source !== use ? `by ${source}` : "", spaced(gas)].filter(word => word !== "").join(", ")), step(app, amount), step(app, factor)));
        }
    };
    const heading = h("h2", {id: "h-part"}, `Of it, ${by === "scope" ? "" : `${by} `}${app.partTitle(by, part)}: ${breakout(app.model.calculation, n, by).find(one => one.name === part)?.value ?? 0} ${app.model.calculation.unitOf(n)}`);
    const count = terms.length;
    append(mostTerms);
    const more = h("button", {type: "button", class: "quiet"}, `Show ${terms.length} more`);
    more.addEventListener("click", () => { append(terms.length); more.remove(); });
    return h("section", {class: "part part-of", "aria-labelledby": "h-part"}, heading,
        h("p", {class: "note"}, `What the figure would be with nothing but these ${count} burdens, each an amount times a factor, carried on to it as the steps above say.`),
        list, terms.length > 0 ? more : null);
}

/** From an input: the results that rest on it. */
function restingOn(app: App, n: number): HTMLElement {
    const flags = new Uint8Array(app.model.calculation.size);
    for (const node of app.model.calculation.dependents(n)) flags[node] = 1;
    const resting = [...app.model.allResults()].filter(result => flags[app.node(result)] && result.covered && !result.per.endsWith("_unrounded"));
    const groups = new Map<string, typeof resting>();
    for (const result of resting) {
        const key = `${result.scenario}\n${result.of}`;
        groups.set(key, [...groups.get(key) ?? [], result]);
    }
    return h("section", {class: "resting"}, h("h2", {}, `What rests on it: ${resting.length} results`),
        ...[...groups.values()].map(list => opened([restingTitle(app, list[0]!, list.length)], h("ul", {}), () => list.map(result =>
            h("li", {}, app.figure(result), ` ${result.unit} per ${result.per}, `, h("a", {href: app.link({view: "trace", traced: addressOf(result)})}, app.indicatorTitle(result.indicator)))))));
}

function restingTitle(app: App, {of, scenario}: Result, count: number): string {
    return `${app.productTitle(of, scenario)}${scenario === "today" ? "" : `, ${app.scenarioTitle(scenario)}`}: ${count}`;
}

function searchBox(app: App): HTMLElement {
    const hits = h("ul", {class: "hits"});
    const count = h("p", {class: "note", role: "status"});
    const box = h("input", {type: "search", id: "find", placeholder: "bath roll climate, or press dryness"});
    box.addEventListener("input", () => {
        const asked = box.value.toLowerCase().split(/[\s._]+/).filter(word => word !== "");
        const list = asked.length === 0 ? [] : search(app, asked);
        count.textContent = asked.length === 0 ? "" : `${list.length > mostHits ? `more than ${mostHits}` : list.length} found`;
        hits.replaceChildren(...list.slice(0, mostHits).map(address => h("li", {}, h("a", {href: app.link({view: "trace", traced: address})}, address),
            h("span", {class: "soft"}, ` ${titleOf(app, address)}`))));
    });
    return h("div", {class: "search"}, h("label", {class: "choice", for: "find"}, h("span", {}, "Find a number by its address or words"), box), count, hits);
}

/** What a result or an amount is called: by its address, since equal numbers may be one node. */
function titleOf(app: App, address: string): string {
    const result = app.model.resultOf(address);
    if (!result) return app.model.titleOf(address);
    const view = /\.(market|location)$/.exec(address)?.[1];
    return `${app.productTitle(result.of, result.scenario)}, ${app.indicatorTitle(result.indicator)}, ${result.unit} ${perText(result.per)}, ${app.scenarioTitle(result.scenario)}${view ? `, ${view}-based electricity` : ""}`;
}

/** Today's and shorter addresses first. */
function search(app: App, asked: string[]): string[] {
    const list: string[] = [];
    for (const [address, node] of app.model.addresses()) {
        if (/\.(market|location)$/.test(address)) continue;
        const input = app.model.calculation.inputs.get(node);
        const text = `${address} ${titleOf(app, address)} ${input?.typed ?? ""} ${input?.note ?? ""} ${input ? app.model.calculation.data.sources[input.source] : ""}`.toLowerCase();
        if (asked.every(word => text.includes(word))) list.push(address);
        if (list.length > 4000) break;
    }
    return list.sort((a, b) => Number(a.includes("@")) - Number(b.includes("@")) || a.length - b.length);
}

export function traceView(app: App): HTMLElement {
    const {traced} = app.state;
    const node = traced === "" ? undefined : app.model.find(traced);
    const view = h("div", {class: "view trace"}, searchBox(app));
    if (traced === "") view.append(h("p", {class: "note"}, "Any number of the page opens here when it is chosen. Values are unrounded, so that each line can be computed again by hand."));
    else if (node === undefined) view.append(h("p", {class: "alarm"}, `Nothing here has the address ${traced}.`));
    else {
        view.append(derivation(app, "trace", traced, node));
        if (app.state.part !== "") view.append(partOf(app, node));
        const other = app.state.beside === "" ? undefined : app.model.find(app.state.beside);
        if (other !== undefined) view.append(h("p", {class: "note"}, besideText(app, node, other)), derivation(app, "beside", app.state.beside, other));
        if (app.model.calculation.inputs.has(node)) view.append(restingOn(app, node));
    }
    return view;
}

function derivation(app: App, id: string, address: string, node: number): HTMLElement {
    const title = titleOf(app, address);
    return h("section", {class: "part derivation", "aria-labelledby": `h-${id}`}, h("h2", {id: `h-${id}`}, address),
        title === "" ? null : h("p", {class: "note"}, title), coverageOf(app, address), step(app, node, address, true));
}

const bounds = {
    exact: "",
    at_least: "≥ At least: a part is not covered.",
    at_most: "≤ At most: what it subtracts is itself at least.",
    open: "≈ Open both ways: parts that add and parts that subtract are not covered.",
};

/** What the figure of a result is worth where not everything is stated. */
function coverageOf(app: App, address: string): HTMLElement | null {
    const result = app.model.resultOf(address);
    if (!result) return null;
    if (!result.covered) return h("p", {class: "alarm coverage"}, "Not covered: no figure, what it rests on does not state it.");
    return result.bound === "exact" ? null : h("p", {class: "note coverage"}, bounds[result.bound]);
}

/** The index and the change that two figures make. */
function besideText(app: App, one: number, other: number): string {
    const value = app.model.calculation.answer(one), base = app.model.calculation.answer(other);
    if (value === null || base === null || !(base > 0)) return "Held against:";
    return `Held against the figure below: index 100 × ${value} ÷ ${base} = ${100 * (value / base)}, a change of ${100 * (value - base) / base} %.`;
}
