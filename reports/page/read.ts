// The view "Read": what a footprint report says, from the headline to what is not covered.
import type {App} from "./app";
import {breakout, groupings, type Grouping, type Part} from "./breakout";
import {axisText, bars, barHeight, carbon, chart, down, ink, line, plain as plainOption, up, water} from "./charts";
import type {ScenarioData, SubjectData} from "./data";
import {choice, h} from "./dom";
import type {Result} from "./model";
import {standsOn} from "./scenario_file";
import {persOf} from "./state";
import {changed, counted, digitsTelling, intervalDigits, marked, percent, plain, signed, significant, type Cells} from "./words";

const side = ["climate", "water_consumed"] as const;
/** What intervals are drawn for. */
const headlinePers = ["t", "roll", "bundle", "pack"];
const headline = ["climate", "water_consumed", "water_withdrawn", "climate_with_uptake"];
const perWords: Record<string, string> = {t: "tonne", m2: "m²", kWh: "kWh", GJ: "GJ"};
export const perText = (per: string) => `per ${perWords[per] ?? per.replaceAll("_", " ")}`;

type Section = HTMLElement;

function section(id: string, title: string, ...children: (Node | string | null)[]): Section {
    return h("section", {"aria-labelledby": `h-${id}`, class: `part ${id}`}, h("h2", {id: `h-${id}`}, title), ...children);
}

function table(label: string, head: (Node | string)[], rows: (Node | string)[][], className = ""): HTMLElement {
    // roles are said, since a phone shows rows as grids, the name in a line of its own
    return h("div", {class: "scroll", tabindex: 0, role: "region", "aria-label": `${label}, table`},
        h("table", {class: className, role: "table", style: `--columns: ${head.length > 5 ? 3 : head.length - 1}`},
            h("thead", {role: "rowgroup"}, h("tr", {role: "row"}, ...head.map(cell => h("th", {scope: "col", role: "columnheader"}, cell)))),
            h("tbody", {role: "rowgroup"}, ...rows.map(row => h("tr", {role: "row"}, ...row.map((cell, k) => k === 0
                ? h("th", {scope: "row", role: "rowheader"}, cell) : h("td", {role: "cell"}, cell)))))));
}

const groupNames = {consumer_product: "Products", mill_product: "Mills", line: "Lines", all: "All"};

/** The bar of choices above Read and Ask. */
export function choices(app: App): HTMLElement {
    const {model, state} = app;
    const subjects = model.subjects(state.scenario);
    const products = subjects.map((one): [string, string, string] => [one.id, app.productTitle(one.id), groupNames[one.kind]]);
    const head = model.head(state.scenario);
    return h("form", {class: "choices", "aria-label": "What is shown", submit: event => event.preventDefault()},
        choice("Product", products, state.product, product => app.go({product, per: persOf(model, state.scenario, product)[0] ?? "t"})),
        model.page.scenarios.length > 1
            ? choice("Scenario", model.page.scenarios.map(one => [one.id, one.title]), state.scenario, scenario => app.go({scenario}))
            : null,
        choice("Per", persOf(model, state.scenario, state.product).map(per => [per, perText(per).slice(4)]), state.per, per => app.go({per})),
        head.one_electricity_view ? null : choice("Electricity", [["location", "location-based"], ["market", "market-based"]],
            state.electricity, electricity => app.go({electricity: electricity as "market" | "location"})));
}

function headlinePart(app: App): Section {
    const {model, state} = app;
    const pers = persOf(model, state.scenario, state.product);
    const usual = pers.filter(per => headlinePers.includes(per));
    const shown = [state.per, ...(usual.length > 0 ? usual : pers).filter(per => per !== state.per)].slice(0, 4);
    const result = (per: string, indicator: string) => model.result(state.scenario, state.product, per, indicator);
    const cards = side.filter(id => model.indicators.has(id)).map(id => h("div", {class: `card ${id}`},
        h("h3", {}, app.indicatorTitle(id)),
        ...shown.map((per, k) => {
            const one = result(per, id);
            return h("p", {class: k === 0 ? "large" : "small"}, app.figure(one), " ",
                h("span", {class: "unit"}, `${one?.unit ?? ""} ${perText(per)}`), interval(app, one));
        })));
    const under = h("p", {class: "under"});
    app.follows(() => {
        const scenario = state.scenario !== "today" ? `scenario: ${app.scenarioTitle(state.scenario)}` : app.movedText() === "" ? "as it is today" : "today";
        under.textContent = [plain(model.subject(state.scenario, state.product)?.kind ?? ""), scenario, app.movedText(), `${state.electricity}-based electricity`].filter(text => text !== "").join(", ");
    });
    const hasIntervals = cards.some(card => card.querySelector(".interval"));
    return section("headline", app.productTitle(state.product), under, h("div", {class: "cards"}, ...cards),
        hasIntervals ? h("p", {class: "note"}, "Intervals hold what the inputs that state a spread bring; all others count as exact, so that the whole is less sure than they say.") : null,
        countLine(app), allIndicators(app, pers));
}

function countLine(app: App): HTMLElement | null {
    const subject = app.model.subject(app.state.scenario, app.state.product);
    const node = subject?.whole_count ?? null;
    if (node === null) return null;
    const text = h("p", {class: "note"});
    app.follows(() => {
        const count = app.model.calculation.answer(node);
        text.textContent = count === null ? "" : `A roll has ${counted(count)} whole sheets.`;
    });
    return text;
}

function interval(app: App, result: Result | undefined): HTMLElement | null {
    const row = result && app.model.uncertain(result);
    if (!row || row.low === row.high) return null;
    const digits = intervalDigits(row.low, row.high);
    const drawn = app.model.result(row.scenario, row.of, row.per, row.indicator) ?? result;
    const {all, stated} = app.model.spreadsBelow(drawn);
    return h("span", {class: "interval"}, `95\u00a0%: ${marked(result.bound, significant(row.low, digits))} to ${marked(result.bound, significant(row.high, digits))}, from ${stated} of ${all} inputs`,
        app.model.calculation.changed.size > 0 ? " as typed" : "");
}

function allIndicators(app: App, pers: string[]): HTMLElement {
    const {model, state} = app;
    const some = pers.slice(0, 4);
    const rows = [...model.indicators.values()].filter(one => !one.memo || headline.includes(one.id)).map(one => {
        const unit = model.result(state.scenario, state.product, pers[0] ?? "", one.id)?.unit ?? one.unit;
        return [h("span", {title: one.title}, app.indicatorTitle(one.id), " ", h("span", {class: "unit"}, unit)),
            ...some.map(per => app.figure(model.result(state.scenario, state.product, per, one.id)))];
    });
    return h("details", {class: "all"}, h("summary", {}, "All indicators"),
        table("All indicators", ["indicator", ...some.map(perText)], rows, "figures"));
}

function breakoutPart(app: App): Section {
    const {model, state} = app;
    const results = side.map(id => model.result(state.scenario, state.product, state.per, id)).filter((one): one is Result => !!one && one.covered);
    const hasScopes = (one: Result) => one.unit.startsWith("kg CO2e");
    const asked = results.filter(one => state.by !== "scope" || hasScopes(one));
    let parts: Part[][] = [];
    app.follows(() => { parts = asked.map(one => breakout(model.calculation, app.node(one), state.by)); });
    const drawings = asked.map((one, k) => {
        const title = `${app.indicatorTitle(one.indicator)} ${perText(state.per)} by ${app.groupingTitle(state.by, one.indicator)}`;
        const rows = () => largest(parts[k]!, 12);
        const name = (part: Part) => app.partTitle(state.by, part.name);
        const axis = {name: `${one.unit} ${perText(state.per)}`};
        return chart({
            title, about: () => app.about(one), height: width => barHeight(rows().map(name), width, axis),
            option: width => bars(rows().map(part => ({name: name(part), value: part.value, text: significant(part.value)})), k === 0 ? carbon : water, width, axis),
            data: () => [[state.by, one.indicator, "unit"], ...parts[k]!.map((part): Cells => [part.name, part.value, one.unit])],
            words: () => `${title}, in ${one.unit}: ${rows().slice(0, 5).map(part => `${name(part)} ${significant(part.value)}`).join(", ")}`,
        });
    });
    const numbers = h("div", {});
    // gases and kinds of water are not parts of one list
    app.follows(() => numbers.replaceChildren(...state.by === "gas" ? asked.map((one, k) => breakoutTable(app, [one], [parts[k]!])) : [breakoutTable(app, asked, parts)]));
    follow(app, drawings);
    return section("breakout", "Where it arises",
        h("div", {class: "choices inner"}, choice("By", groupings.map(one => [one, groupTitle[one]]), state.by, by => app.go({by: by as Grouping}))),
        results.length === 0 ? h("p", {}, "No figure is covered.") : null,
        h("div", {class: "charts"}, ...drawings.map(one => one.element)), numbers);
}

/** The largest parts; what is beyond them in one. */
function largest(parts: Part[], count: number): Part[] {
    if (parts.length <= count) return parts;
    const rest = parts.slice(count - 1);
    return [...parts.slice(0, count - 1), {name: `${rest.length} more`, value: rest.reduce((sum, part) => sum + part.value, 0)}];
}

const groupTitle: Record<Grouping, string> = {stage: "stage", process: "process", use: "use of a process", factor: "factor", gas: "gas or kind of water", scope: "scope"};

function breakoutTable(app: App, results: Result[], parts: { name: string; value: number }[][]): HTMLElement {
    const names = [...new Set(parts.flatMap(list => list.map(part => part.name)))];
    const totals = results.map(one => app.value(one) ?? NaN);
    const meaningful = parts.map((list, k) => Math.abs(totals[k]!) >= 0.1 * list.reduce((sum, part) => sum + Math.abs(part.value), 0));
    const rows: (Node | string)[][] = names.map(name => [app.partTitle(app.state.by, name), ...parts.flatMap((list, k) => {
        const value = list.find(part => part.name === name)?.value ?? 0;
        const link = (text: string) => value === 0 ? text : app.partLink(results[k]!, name, text);
        return [link(significant(value)), meaningful[k] ? link(percent(value / totals[k]!)) : "–"];
    })]);
    rows.push([h("strong", {}, "total"), ...results.flatMap((one, k) => [app.figure(one), meaningful[k] ? percent(1) : "–"])]);
    const grouping = app.groupingTitle(app.state.by, results[0]?.indicator ?? "");
    return table(`Break-out by ${grouping} in numbers`, [grouping, ...results.flatMap(one => [`${app.indicatorTitle(one.indicator)}, ${one.unit}`, "share"])], rows, "figures");
}

export function follow(app: App, drawings: { draw: () => void }[]): void {
    for (const one of drawings) app.follows(one.draw);
}

/** Why two results have no index: "" where they have one. */
export function withoutIndex(app: App, one: Result | undefined, other: Result | undefined): string {
    if (!one || !other || !one.covered || !other.covered) return "a figure is not covered";
    if (one.bound === "exact" && other.bound === "exact") return "";
    const mine = app.model.calculation.uncovered(app.node(one)), theirs = app.model.calculation.uncovered(app.node(other));
    const same = mine.size === theirs.size && [...mine].every(gap => theirs.has(gap));
    return same && one.bound === other.bound ? "" : "what is not covered differs from the reference";
}

function comparable(app: App): SubjectData[] {
    const subjects = app.model.subjects(app.state.scenario);
    const products = subjects.filter(one => one.kind === "consumer_product" && one.pers.includes(app.state.per));
    return products.length > 0 ? products : subjects.filter(one => one.kind === "mill_product" && one.pers.includes(app.state.per));
}

function productsPart(app: App): Section | null {
    const {model, state} = app;
    const subjects = comparable(app);
    if (subjects.length < 2) return null;
    const reference = subjects.some(one => one.id === state.reference) ? state.reference
        : subjects.some(one => one.id === state.product) ? state.product : subjects[0]!.id;
    const result = (of: string, indicator: string) => model.result(state.scenario, of, state.per, indicator);
    const index = (of: string, indicator: string): number | null => {
        const one = result(of, indicator), base = result(reference, indicator);
        if (withoutIndex(app, one, base) !== "") return null;
        const value = app.value(one!), of100 = app.value(base!);
        return value === null || of100 === null || !(of100 > 0) ? null : 100 * (value / of100); // 100 of the reference itself
    };
    const rows = () => subjects.map(one => ({name: app.productTitle(one.id), value: index(one.id, "climate")}));
    const title = `Climate index ${perText(state.per)}`;
    const axis = {name: "index, the reference is 100"};
    const drawing = chart({
        title, about: () => [`${app.productTitle(reference)} is 100`, ...app.about(undefined, "all products")], height: width => barHeight(rows().map(row => row.name), width, axis),
        option: width => bars(rows().map(row => ({name: row.name, value: row.value ?? 0, text: row.value === null ? "no index" : significant(row.value, 4)})), carbon, width, axis),
        data: () => [["product", "climate", "index of climate", "water_consumed", "index of water_consumed"], ...subjects.map((one): Cells => {
            const value = (indicator: string) => { const found = result(one.id, indicator); return found ? app.value(found) : null; };
            return [one.id, value("climate"), index(one.id, "climate"), value("water_consumed"), index(one.id, "water_consumed")];
        })],
        words: () => `${title}, ${app.productTitle(reference)} is 100: ${rows().map(row => `${row.name} ${row.value === null ? "none" : significant(row.value, 4)}`).join(", ")}`,
    });
    const numbers = h("div", {});
    app.follows(() => numbers.replaceChildren(table("Products side by side", ["product", ...side.flatMap(id => [`${app.indicatorTitle(id)}, ${model.indicators.get(id)?.unit ?? ""}`, "index"])],
        subjects.map(one => [app.productTitle(one.id), ...side.flatMap(id => {
            const value = index(one.id, id);
            const why = withoutIndex(app, result(one.id, id), result(reference, id));
            return [app.figure(result(one.id, id)), value === null ? h("span", {title: why}, "–") : app.pairLink(result(one.id, id)!, result(reference, id)!, significant(value, 4))];
        })]), "figures")));
    follow(app, [drawing]);
    const gaps = side.filter(id => subjects.some(one => withoutIndex(app, result(one.id, id), result(reference, id)) !== ""));
    return section("products", "Products side by side",
        h("div", {class: "choices inner"}, choice("The reference, 100", subjects.map(one => [one.id, app.productTitle(one.id)]), reference, id => app.go({reference: id}))),
        h("p", {class: "note"}, `At equal ${state.per === "t" ? "mass" : state.per.replaceAll("_", " ")}, under one set of rules; results ${perText(state.per)}.`,
            gaps.length > 0 ? ` No index (–) where what is not covered differs from the reference: ${gaps.map(app.indicatorTitle).join(", ")}.` : ""),
        h("div", {class: "charts"}, drawing.element), numbers);
}

/** All that a scenario stands on, itself last. */
function standingOn(app: App, id: string): string[] {
    const found: string[] = [];
    const visit = (one: string) => {
        if (one === "today" || found.includes(one)) return;
        for (const parent of app.model.scenarios.get(one)?.on ?? []) visit(parent);
        found.push(one);
    };
    visit(id);
    return found;
}

/** The way from today to a scenario: each step holds all of the one before. */
export function wayTo(app: App, target: string): string[] {
    const way = ["today"];
    let before = 0;
    for (const id of standingOn(app, target)) {
        const all = standingOn(app, id);
        if (all.length !== before + 1 || !all.slice(0, -1).every(one => way.includes(one))) continue;
        way.push(id);
        before = all.length;
    }
    if (way.at(-1) !== target && target !== "today") way.push(target);
    return way;
}

function scenariosPart(app: App): Section | null {
    const {model} = app;
    const others = model.page.scenarios.filter(one => one.id !== "today");
    if (others.length === 0) return null;
    const unlike = (one: ScenarioData) => model.unlikeRules(one.id, "today").length > 0;
    const alike = others.filter(one => !unlike(one)), apart = others.filter(unlike);
    return section("scenarios", "Scenarios as steps", ...(alike.length > 0 ? scenarioSteps(app, alike) : []),
        ...(apart.length > 0 ? underOtherRules(app, apart) : []));
}

/** The scenarios made under today's rules: the steps to one of them, and all beside today. */
function scenarioSteps(app: App, alike: ScenarioData[]): Node[] {
    const {model, state} = app;
    const longest = [...alike].sort((a, b) => wayTo(app, b.id).length - wayTo(app, a.id).length)[0]!.id;
    const target = [state.target, state.scenario].find(id => alike.some(one => one.id === id)) ?? longest;
    const result = (scenario: string, indicator = state.indicator) => model.result(scenario, state.product, state.per, indicator);
    const changes = model.scenarios.get(target)!;
    return [h("div", {class: "choices inner"}, choice("To", alike.map(one => [one.id, one.title]), target, id => app.go({target: id})),
        choice("Of", [...model.indicators.keys()].filter(id => result("today", id)).map(id => [id, app.indicatorTitle(id)]), state.indicator, indicator => app.go({indicator}))),
    stepsChart(app, target), scenarioTable(app, [model.scenarios.get("today")!, ...alike]),
    h("details", {}, h("summary", {}, `What “${changes.title}” changes`),
        h("ul", {}, ...changes.steps.map(step => h("li", {}, step.change, h("span", {class: "soft"}, ` because: ${step.reason}`)))),
        changes.note === "" ? null : h("p", {}, changes.note))];
}

/** What each step changes, from zero; where it begins and ends stands above. */
function stepsChart(app: App, target: string): HTMLElement {
    const {model, state} = app;
    const way = wayTo(app, target);
    const result = (scenario: string) => model.result(scenario, state.product, state.per, state.indicator);
    const today = result("today"), there = result(target);
    const values = () => way.map(id => { const one = result(id); return one ? app.value(one) : null; });
    const steps = () => stepsOf(way.map(id => app.scenarioTitle(id)), values());
    const title = `Change in ${app.indicatorTitle(state.indicator).toLowerCase()} ${perText(state.per)}, step by step from today to ${app.scenarioInText(target)}`;
    const unit = today?.unit ?? "";
    const axis = {name: `change, ${unit} ${perText(state.per)}`, scale: true};
    const digits = () => telling(app, [today, there]);
    const drawing = chart({
        title, about: () => app.about(today), height: width => barHeight(steps().map(step => step.name), width, axis),
        option: width => bars(steps().map(step => ({name: step.name, value: step.change, text: signed(step.change), colour: step.change > 0 ? up : down})), down, width, axis),
        data: () => [["step", "change", "value", "unit"], ["Today", null, values()[0] ?? null, unit], ...steps().map((step): Cells => [step.name, step.change, step.value, unit])],
        words: () => `${title}, in ${unit}: ${steps().map(step => `${step.name} ${signed(step.change)}`).join(", ")}`,
    });
    const ends = h("p", {class: "ends"}, "Today ", app.figure(today, state.electricity, false, digits), `, ${app.scenarioInText(target)} `, app.figure(there, state.electricity, false, digits), ` ${unit} ${perText(state.per)}`, changeOf(app, there, today, text => ` (${text})`), ".");
    follow(app, [drawing]);
    return h("div", {}, ends, h("div", {class: "charts"}, drawing.element));
}

/** By how much a figure differs from another, in %; it opens both. Nothing where they do not compare. */
function changeOf(app: App, here: Result | undefined, base: Result | undefined, around = (text: string) => text): HTMLElement {
    const why = withoutIndex(app, here, base);
    if (why !== "") return h("span", {title: why}, around("–"));
    const link = app.pairLink(here!, base!, "");
    app.follows(() => {
        const a = app.value(here!), b = app.value(base!);
        link.textContent = around(a === null || b === null || !(b > 0) ? "–" : changed(a, b));
    });
    return link;
}

/** Digits in which these results are told apart. */
function telling(app: App, results: (Result | undefined)[]): number {
    return digitsTelling(results.flatMap(one => { const value = one ? app.value(one) : null; return value === null ? [] : [value]; }));
}

function scenarioTable(app: App, scenarios: ScenarioData[]): HTMLElement {
    const {model, state} = app;
    const result = (scenario: string, indicator: string) => model.result(scenario, state.product, state.per, indicator);
    const digits = new Map<string, number>();
    app.follows(() => { for (const id of side) digits.set(id, telling(app, scenarios.map(one => result(one.id, id)))); });
    return table("All scenarios", ["scenario", ...side.flatMap(id => [`${app.indicatorTitle(id)}, ${result("today", id)?.unit ?? ""}`, "change"])],
        scenarios.map(one => [
            h("a", {href: app.link({scenario: one.id})}, one.title),
            ...side.flatMap(id => [app.figure(result(one.id, id), state.electricity, false, () => digits.get(id)!), one.id === "today" ? "–" : changeOf(app, result(one.id, id), result("today", id))])]), "figures");
}

/** What cannot be held against today: each with its own rules, and its figures in its own view of electricity. */
function underOtherRules(app: App, apart: ScenarioData[]): Node[] {
    const {model, state} = app;
    return [h("h3", {class: "apart"}, "Made under other rules"),
        h("p", {class: "note"}, "Figures made under different rules do not compare: no change is given."),
        table("Scenarios under other rules", ["scenario", "its rules", ...side.map(id => `${app.indicatorTitle(id)}, ${model.indicators.get(id)?.unit ?? ""}`)],
            apart.map(one => [h("a", {href: app.link({scenario: one.id, electricity: one.study.electricity})}, one.title), h("span", {class: "rules-of"}, model.unlikeRules(one.id, "today").join("; ")),
                ...side.map(id => app.figure(model.result(one.id, state.product, state.per, id), one.study.electricity))]), "figures")];
}

interface Step { name: string; change: number; value: number }

function stepsOf(names: string[], values: (number | null)[]): Step[] {
    const steps: Step[] = [];
    let before = values[0] ?? null;
    names.forEach((name, k) => {
        const value = values[k] ?? null;
        if (k === 0 || value === null) return;
        if (before !== null) steps.push({name, change: value - before, value});
        before = value;
    });
    return steps;
}

function uncertaintyPart(app: App): Section {
    const {model, state} = app;
    const {uncertainty} = model.page;
    if (uncertainty.rows.length === 0) return section("uncertainty", "How sure it is", h("p", {}, `No intervals: ${uncertainty.why || "nothing was drawn"}.`));
    const rows = side.map(id => model.result(state.scenario, state.product, state.per, id))
        .map(one => one && {one, row: model.uncertain(one)}).filter((pair): pair is { one: Result; row: NonNullable<ReturnType<typeof model.uncertain>> } => !!pair?.row);
    const drawings = rows.filter(({row}) => row.counts.length > 1).map(({one, row}, k) => {
        const title = `${app.indicatorTitle(one.indicator)} ${perText(state.per)}: where ${counted(uncertainty.draws)} draws fall`;
        const width = (row.most - row.least) / row.counts.length;
        return chart({
            title, about: () => app.about(one), height: () => 230, option: () => histogram(row, k === 0 ? carbon : water),
            data: () => [["from", "to", "draws", "unit"], ...row.counts.map((count, bin): Cells => [row.least + bin * width, row.least + (bin + 1) * width, count, one.unit])],
            words: () => `${title}, in ${one.unit}. 95 % lie from ${significant(row.low, 4)} to ${significant(row.high, 4)}, the median is ${significant(row.median, 4)}`,
        });
    });
    follow(app, drawings);
    const text = rows.length === 0 ? h("p", {}, "Nothing was drawn for this product and unit; per tonne, roll, bundle and pack have intervals.")
        : table("Intervals", ["figure", "at the inputs as typed", "median", "standard uncertainty", "95 % from", "to"], rows.map(({one, row}) => [
            `${app.indicatorTitle(one.indicator)}, ${one.unit} ${perText(row.per.replace("_unrounded", ""))}`, typedFigure(app, model.result(state.scenario, state.product, row.per, one.indicator)!),
            marked(one.bound, significant(row.median, 4)), significant(row.standard_uncertainty, 2), marked(one.bound, significant(row.low, 4)), marked(one.bound, significant(row.high, 4))]), "figures");
    return section("uncertainty", "How sure it is", h("div", {class: "charts"}, ...drawings.map(one => one.element)), text,
        h("p", {class: "note"}, `${counted(uncertainty.draws)} draws of ${counted(uncertainty.with_spread)} inputs that have a spread, seed ${uncertainty.seed}, by the engine, for the inputs as typed; `
            + `${counted(uncertainty.without_spread)} inputs have none and count as exact. `, rows.some(({row}) => row.per.endsWith("_unrounded")) ? "Where a roll has whole sheets, intervals are those of the unrounded count." : ""));
}

/** A figure as the engine has it, whatever has moved: what stands beside it was drawn for the inputs as typed. */
function typedFigure(app: App, result: Result): HTMLElement {
    const value = app.model.typedValue(app.node(result));
    return h("a", {class: "figure", title: `how ${app.address(result)} came about`, href: app.link({view: "trace", traced: app.address(result)})},
        value === null ? "–" : marked(result.bound, significant(value, 4)));
}

function histogram(row: { counts: number[]; least: number; most: number; low: number; high: number; median: number }, colour: string) {
    const bins = row.counts.length, width = (row.most - row.least) / bins;
    const place = (value: number) => (value - row.least) / width - 0.5;
    return {
        ...plainOption,
        grid: {left: 24, right: 24, top: 28, bottom: 4, outerBoundsMode: "same", outerBoundsContain: "axisLabel"},
        xAxis: [
            {type: "category", data: row.counts.map((_, bin) => significant(row.least + (bin + 0.5) * width, 4)), axisTick: {show: false},
                axisLine: {lineStyle: {color: line}}, axisLabel: {...axisText, hideOverlap: true}},
            {type: "value", min: -0.5, max: bins - 0.5, show: false},
        ],
        yAxis: {type: "value", show: false},
        series: [
            {type: "bar", barCategoryGap: "8%", emphasis: {disabled: true}, cursor: "default",
                data: row.counts.map((count, bin) => {
                    const middle = row.least + (bin + 0.5) * width;
                    return {value: count, itemStyle: {color: colour, opacity: middle < row.low || middle > row.high ? 0.4 : 1}};
                }),
                tooltip: {formatter: ({dataIndex, value}: { dataIndex: number; value: number }) =>
                    `${significant(row.least + dataIndex * width, 4)} to ${significant(row.least + (dataIndex + 1) * width, 4)}: ${value} draws`}},
            {type: "bar", xAxisIndex: 1, data: [], silent: true, markLine: {
                symbol: "none", silent: true, lineStyle: {color: ink, type: "dashed", width: 1.5},
                label: {...axisText, formatter: ({name}: { name: string }) => name},
                data: [{name: "2.5 %", xAxis: place(row.low)}, {name: "median", xAxis: place(row.median)}, {name: "97.5 %", xAxis: place(row.high)}]}},
        ],
    };
}

function openPart(app: App): Section {
    const {model, state} = app;
    const scenario = model.scenarios.get(state.scenario)!;
    const below = new Map<string, Set<string>>();
    for (const id of [...side, "climate_land_use", "climate_biogenic", "water_scarcity"]) {
        const result = model.result(state.scenario, state.product, state.per, id);
        if (!result) continue;
        for (const gap of model.calculation.uncovered(app.node(result))) {
            const [factor = "", indicator = ""] = gap.split(": ");
            if (!below.has(indicator)) below.set(indicator, new Set());
            below.get(indicator)!.add(factor);
        }
    }
    const uses = (indicator: string, factor: string) => scenario.uncovered.find(one => one.indicator === indicator && one.factor === factor)?.uses ?? [];
    return section("open", "What is not covered",
        below.size === 0 ? h("p", {}, "Everything that was expected of these figures is stated.")
            : h("div", {}, h("p", {class: "note"}, "≥ is at least: a part is not stated. ≤ is at most, ≈ open both ways, – not covered."),
                ...[...below].map(([indicator, factors]) => h("details", {}, h("summary", {}, `${app.indicatorTitle(indicator)}: not stated by ${factors.size} factor${factors.size === 1 ? "" : "s"}`),
                    h("ul", {}, ...[...factors].map(factor => h("li", {}, factor, ...usesText(uses(indicator, factor)))))))));
}

/** Who uses a factor; on paper, where that fills sheets, only how many do. */
function usesText(uses: string[]): HTMLElement[] {
    return uses.length === 0 ? [] : [h("span", {class: "soft on-screen"}, ` used by ${uses.join(", ")}`),
        h("span", {class: "soft on-paper"}, `: ${counted(uses.length)} use${uses.length === 1 ? "" : "s"}`)];
}

function rulesPart(app: App): Section {
    const {model, state} = app;
    const head = model.head(state.scenario);
    const facts: [string, string | null][] = [
        ["Rules", head.rules ? `${head.rules.id} ${head.rules.version}${head.rules_text ? ": " : ""}${head.rules_text}` : null],
        ["Boundary", head.boundary.replaceAll("_", " ")],
        ["Warming potentials", head.gwp_sets.length > 1 ? `a MIX of sets: ${head.gwp_sets.join(", ")}; gases are weighed with ${head.characterization}` : head.characterization],
        ["Water scarcity", head.scarcity ? `model ${head.scarcity_model}, version ${head.scarcity_version}` : null],
        ["Electricity", head.one_electricity_view ? "one factor stands for both the market-based and the location-based total" : `the study's headline is ${head.electricity}-based; both are computed`],
        ["Allocation", model.scenarios.get(state.scenario)!.allocation || null],
        ["Of the study", model.page.note.trim().replace(/\s*\n\s*/g, " ") || null],
    ];
    return section("rules", "Rules, cut-offs, cautions",
        h("dl", {}, ...facts.filter(([, text]) => text).flatMap(([name, text]) => [h("dt", {}, name), h("dd", {}, text)])),
        head.exempted.length > 0 ? h("details", {}, h("summary", {}, `Left out by the rules: ${head.exempted.length}`), h("ul", {}, ...head.exempted.map(one => h("li", {}, one)))) : null,
        model.page.findings.length > 0 ? h("details", {}, h("summary", {}, `What a careful reader would question: ${model.page.findings.length} findings`),
            h("ul", {}, ...model.page.findings.map(one => h("li", {}, one.message, h("span", {class: "soft"}, ` ${one.at ? `${one.at.file}:${one.at.line}:${one.at.column} ` : ""}[${one.code}]`))))) : null,
        h("p", {class: "caution"}, "These figures compare footprints and are no design. Burners, boilers, hydrogen, pressure equipment and electrical work follow local codes and are for licensed practitioners. "
            + "No figure counts as verified until somebody verifies it, and only footprints made under one set of rules can be held against each other."));
}

export function readView(app: App): HTMLElement {
    return h("div", {class: "view read"}, choices(app), changedBanner(app), headlinePart(app), breakoutPart(app), productsPart(app),
        scenariosPart(app), uncertaintyPart(app), openPart(app), rulesPart(app));
}

/** Says on every view that inputs are not as typed. */
export function changedBanner(app: App): HTMLElement {
    const banner = h("div", {class: "changed", role: "status"});
    app.follows(() => {
        const {changed, failures} = app.model.calculation;
        const refused = app.model.refusals(standsOn(app.model, app.state.scenario));
        banner.hidden = changed.size === 0;
        banner.replaceChildren(...(changed.size === 0 ? [] : [
            h("span", {}, `▲ ${changed.size} input${changed.size === 1 ? " is" : "s are"} not as typed; the figures follow. `),
            h("a", {href: app.link({view: "ask"})}, "Show them"), " ",
            h("button", {type: "button", class: "quiet", click: () => app.reset()}, "Reset all")]),
        ...refused.map(one => h("p", {class: "alarm"}, `${one.text.replace(/^[a-z]+ /, word => plain(word))}.`)),
        refused.length === 0 ? "" : h("p", {class: "alarm"}, "The engine would refuse this as a scenario: move what belongs together."),
        ...failures.slice(0, 3).map(one => h("p", {class: "alarm"}, `No answer: ${one.what} would be less than nothing.`)));
    });
    return banner;
}

