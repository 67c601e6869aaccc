// The view "Ask": any input can be moved; the figure watched, its break-out and the products follow at once.
import type {App} from "./app";
import {breakout, type Part} from "./breakout";
import {crossings} from "./breakeven";
import {bars, barHeight, carbon, chart, water} from "./charts";
import {allows, endsOf, type InputData} from "./data";
import {choice, h, save, setText} from "./dom";
import {addressOf, addressesOf, type Result} from "./model";
import {changedBanner, choices, follow, perText} from "./read";
import {canBeSaved, scenarioFile, standsOn} from "./scenario_file";
import {changed, digitsApart, marked, percent, signed, significant, type Cells} from "./words";

const most = 24;
/** How many times its value an input is asked for its break-even, as deckle breakeven does. */
const widest = 5;

export interface Range { low: number; high: number }

/** Where a scale begins for the person who typed it: a temperature in degrees Celsius at 273.15 K. */
function zeroOf(app: App, input: InputData): number {
    return app.model.calculation.unitOf(input.n) === "K" && /deg ?C/.test(input.typed) ? 273.15 : 0;
}

/** How far a slider goes: from zero to some times its value, within what the input may be; a share in % to 100. */
export function rangeOf(app: App, input: InputData, times = 2): Range {
    const [least, highest] = endsOf(input);
    const value = input.value;
    const zero = zeroOf(app, input);
    const reach = value === zero ? 1 : times * Math.abs(value - zero);
    let low = value < zero ? zero - reach : zero, high = value < zero ? zero : zero + reach;
    if (app.model.calculation.unitOf(input.n) === "%" && value >= 0 && value <= 100) high = Math.min(high, 100);
    if (least !== null) low = Math.max(low, least);
    if (highest !== null) high = Math.min(high, highest);
    return {low: Math.min(low, value), high: Math.max(high, value)};
}

/** A value with its unit; a count of whole things without decimals. */
function shownValue(app: App, input: InputData, value: number): string {
    return `${input.counts_to === undefined ? significant(value, 4) : value} ${app.model.calculation.unitOf(input.n)}`.trimEnd();
}

/** The figure watched: on the unrounded count where a product is counted in whole pieces. */
export function watched(app: App, of = app.state.product, scenario = app.state.scenario): Result | undefined {
    const {state, model} = app;
    return model.result(scenario, of, `${state.per}_unrounded`, state.indicator) ?? model.result(scenario, of, state.per, state.indicator);
}

function compared(app: App): Result | undefined {
    const [kind, id] = [app.state.against.slice(0, 1), app.state.against.slice(1)];
    if (kind === "@") return app.model.scenarios.has(id) && app.model.unlikeRules(id, app.state.scenario).length === 0 ? watched(app, app.state.product, id) : undefined;
    return kind === "=" ? watched(app, id) : undefined;
}

/** Inputs that a figure rests on, those first that move it most: each moved by 10 % of its value, alone; what is
 *  typed as zero has no such part and comes later, weights of the method last. */
function ranked(app: App, result: Result): InputData[] {
    const {calculation} = app.model;
    const node = app.node(result);
    const movable = calculation.inputsBelow(node).filter(input => !app.model.isSpreadParameter(input.n));
    const swing = new Map(movable.map(input => {
        const {low, high} = rangeOf(app, input);
        const now = calculation.value[input.n]!;
        const step = 0.1 * Math.abs(now - zeroOf(app, input));
        const width = calculation.probe(input.n, [node], at => {
            const ends = [at(Math.max(low, now - step)), at(Math.min(high, now + step))];
            return ends[0] && ends[1] ? Math.abs(ends[0][0]! - ends[1][0]!) : 0;
        });
        return [input.n, width] as const;
    }));
    return movable.sort((a, b) => Number(app.model.isWeight(a)) - Number(app.model.isWeight(b)) || swing.get(b.n)! - swing.get(a.n)!);
}

function found(app: App, inputs: InputData[], words: string): InputData[] {
    const asked = words.toLowerCase().split(/\s+/).filter(word => word !== "");
    return inputs.filter(input => {
        const text = `${addressesOf(input).map(address => `${address} ${app.model.titleOf(address)}`).join(" ")} ${input.typed} ${input.note}`.toLowerCase().replaceAll("_", " ");
        return asked.every(word => text.includes(word.replaceAll("_", " ")));
    });
}

let serial = 0;

/** One input: its slider, its value to be typed, and on the slider what it was and where the comparison turns. */
function inputCard(app: App, input: InputData): HTMLElement {
    const {calculation} = app.model;
    const address = addressesOf(input)[0]!;
    const title = app.model.titleOf(address);
    const shown = address.replaceAll("_", "_\u200a");
    const range = rangeOf(app, input);
    const unit = calculation.unitOf(input.n);
    const id = `input-${++serial}`;
    const step = input.counts_to === undefined ? "any" : 1;
    const [least, highest] = endsOf(input);
    const slider = h("input", {type: "range", id, min: range.low, max: range.high, step, "aria-describedby": `${id}-typed`});
    const number = h("input", {type: "number", step, min: least, max: highest, "aria-label": `${address}, value`});
    const place = (value: number) => `${range.high > range.low ? 100 * (value - range.low) / (range.high - range.low) : 0}%`;
    const ticks = h("div", {class: "ticks", "aria-hidden": "true"});
    const turns = h("p", {class: "turns", role: "status"});
    const back = h("button", {type: "button", class: "quiet", click: () => app.move(input.n, input.value)}, "Reset");
    const typed = h("a", {}, input.typed), written = h("span", {});
    const card = h("li", {class: "input", "data-address": address},
        h("label", {for: id}, title || shown, title === "" ? null : h("span", {class: "address"}, shown)),
        h("div", {class: "slide"}, slider, ticks),
        h("div", {class: "amount"}, number, h("span", {class: "unit"}, unit), back),
        h("p", {class: "on-paper"}, written),
        h("p", {class: "typed", id: `${id}-typed`}, "typed ", typed, input.amount_is ? `, ${input.amount_is}` : ""),
        turns);
    slider.addEventListener("input", () => app.move(input.n, Number(slider.value)));
    slider.addEventListener("change", () => showTurns());
    slider.addEventListener("focus", () => showTurns());
    number.addEventListener("change", () => {
        const value = number.valueAsNumber;
        const allowed = allows(input, value);
        if (allowed) app.move(input.n, value);
        else number.value = String(calculation.value[input.n]);
        turns.textContent = allowed ? "" : `It may be ${step === 1 ? "a whole number " : ""}${least === null ? "" : `from ${least}`}${highest === null ? "" : ` up to ${highest}`} ${unit}.`;
    });
    function showTurns(): void {
        const one = watched(app), other = compared(app);
        const wide = rangeOf(app, input, widest);
        const all = one && other ? crossings(calculation, input.n, app.node(one), app.node(other), wide.low, wide.high) : [];
        for (const {at} of all) if (at > range.high) range.high = Math.min(wide.high, at + 0.1 * (at - range.low));
        slider.max = String(range.high);
        ticks.replaceChildren(tick("as typed", "was", place(input.value)), ...all.map(({at}) => tick(`equal at ${significant(at, 4)}`, "even", place(at))));
        if (!one || !other) return;
        turns.textContent = all.length === 0 ? `No break-even from ${significant(wide.low, 4)} to ${significant(wide.high, 4)} ${unit}.`
            : `Break-even at ${all.map(({at, stepped}) => `${significant(at, 4)} ${unit}${stepped ? " (over a step)" : ""}`).join(" and ")}.`;
    }
    let shownValue: number | undefined, shownMoved = false;
    app.follows(() => {
        const value = calculation.value[input.n]!;
        const moved = calculation.changed.has(input.n);
        typed.href = app.link({view: "trace", traced: address});
        if (shownValue === value && shownMoved === moved) return;
        [shownValue, shownMoved] = [value, moved];
        if (document.activeElement !== number) number.value = String(Number(value.toPrecision(12)));
        if (Number(slider.value) !== value) slider.value = String(value);
        setText(written, moved ? `now ${significant(value, 4)} ${unit}`.trimEnd() : "");
        slider.setAttribute("aria-valuetext", `${significant(value, 4)} ${unit}${moved ? ", changed" : ""}`);
        card.classList.toggle("moved", moved);
        back.hidden = !moved;
    });
    if (compared(app)) requestAnimationFrame(() => { if (card.isConnected) showTurns(); });
    else showTurns();
    return card;
}

const tick = (text: string, kind: string, left: string) => {
    const mark = h("span", {class: `tick ${kind}`, title: text}, h("span", {}, kind === "was" ? "" : "="));
    mark.style.left = left;
    return mark;
};

function watchPanel(app: App): HTMLElement {
    const {model, state} = app;
    const result = watched(app), other = compared(app);
    if (!result) return h("section", {class: "watch"}, h("p", {}, "This product has no such figure."));
    const difference = h("p", {class: "against"});
    const now = h("p", {class: "large"}, app.figure(result, state.electricity, true), " ", h("span", {class: "unit"}, `${result.unit} ${perText(state.per)}`));
    const change = h("p", {class: "small", "data-change": ""});
    const base = result.covered ? app.model.typedValue(app.node(result)) : null;
    app.leads(() => {
        const value = app.value(result);
        setText(change, value === null || base === null ? (value === null ? "no answer" : "")
            : value === base ? "as typed" : changeText(value, base, result.unit));
        if (!other) return;
        const theirs = app.value(other);
        setText(difference, value === null || theirs === null ? "no answer to compare with"
            : `${value < theirs ? "below" : value > theirs ? "above" : "equal to"} ${againstTitle(app)} (${significant(theirs, digitsApart(value, theirs))}) by ${significant(Math.abs(value - theirs))}; index ${significant(100 * value / theirs, 4)}`);
    });
    const drawing = breakdownChart(app, result);
    follow(app, [drawing]);
    const subjects = model.subjects(state.scenario).filter(one => one.id !== state.product && watched(app, one.id));
    return h("section", {class: "watch", "aria-label": "The figure watched"},
        h("div", {class: "choices inner"},
            choice("Figure", [...model.indicators.keys()].filter(id => model.result(state.scenario, state.product, state.per, id)?.covered).map(id => [id, app.indicatorTitle(id)]), state.indicator, indicator => app.go({indicator})),
            choice("Compare with", [["", "nothing"], ...model.page.scenarios.filter(one => one.id !== state.scenario && model.unlikeRules(one.id, state.scenario).length === 0).map((one): [string, string, string] => [`@${one.id}`, one.title, "Scenarios"]),
                ...subjects.map((one): [string, string, string] => [`=${one.id}`, app.productTitle(one.id), "Products"])], state.against, against => app.go({against}))),
        h("div", {class: "now"}, now, change, other ? difference : null,
            h("p", {class: "note"}, addressOf(result), result.per.endsWith("_unrounded") ? " (the unrounded count: a whole one jumps)" : "")),
        drawing.element);
}

/** The figure in one line at the edge of a narrow screen, while the panel is scrolled away: who moves an input sees it. */
function strip(app: App, result: Result, panel: HTMLElement): HTMLElement {
    const value = h("strong", {}), change = h("span", {});
    const line = h("p", {class: "strip", hidden: true, "aria-hidden": "true"}, value, ` ${result.unit} ${perText(app.state.per)} `, change);
    const base = app.model.typedValue(app.node(result));
    app.leads(() => {
        const now = app.value(result);
        setText(value, now === null || base === null ? app.text(result) : marked(result.bound, significant(now, digitsApart(now, base))));
        setText(change, now === null || base === null || now === base || base === 0 ? "" : changed(now, base));
    });
    new IntersectionObserver(([seen]) => { line.hidden = seen!.isIntersecting; }).observe(panel.querySelector(".now") ?? panel);
    return line;
}

/** With as many digits as show the change. */
function changeText(value: number, base: number, unit: string): string {
    const digits = digitsApart(value, base);
    return `${value > base ? "▲" : "▼"} ${significant(value, digits)}, was ${significant(base, digits)}: ${signed(value - base)} ${unit}, ${changed(value, base)}`;
}

function againstTitle(app: App): string {
    const id = app.state.against.slice(1);
    return app.state.against.startsWith("@") ? app.scenarioInText(id) : `“${app.productTitle(id)}”`;
}

function breakdownChart(app: App, result: Result) {
    const title = `${app.indicatorTitle(result.indicator)} ${perText(app.state.per)} by ${app.groupingTitle(app.state.by, result.indicator)}`;
    const axis = {name: `${result.unit} ${perText(app.state.per)}`};
    const parts = () => breakout(app.model.calculation, app.node(result), app.state.by).slice(0, 8);
    const name = (part: Part) => app.partTitle(app.state.by, part.name);
    let read: Part[] = [];
    app.follows(() => { read = parts(); });
    return chart({
        title, about: () => app.about(result), height: width => barHeight(read.map(name), width, axis),
        option: width => bars(read.map(part => ({name: name(part), value: part.value, text: significant(part.value)})), result.indicator.startsWith("water") ? water : carbon, width, axis),
        data: () => [[app.state.by, result.indicator, "unit"], ...parts().map((part): Cells => [part.name, part.value, result.unit])],
        words: () => `${title}: ${read.map(part => `${name(part)} ${significant(part.value)}`).join(", ")}`,
    });
}

function changesPanel(app: App): HTMLElement {
    const list = h("ul", {class: "changes"});
    const title = h("input", {type: "text", value: "Asked on the page", id: "scenario-title"});
    const reason = h("input", {type: "text", value: "tried on the page", id: "scenario-reason"});
    const said = h("p", {class: "note", role: "status"});
    const panel = h("section", {class: "part changes-part", "aria-labelledby": "h-changes"}, h("h2", {id: "h-changes"}, "What is changed"), list,
        h("div", {class: "choices inner"}, h("label", {class: "choice", for: "scenario-title"}, h("span", {}, "Title"), title), h("label", {class: "choice", for: "scenario-reason"}, h("span", {}, "Reason"), reason)),
        h("p", {class: "buttons"},
            h("button", {type: "button", id: "save-scenario", click: () => {
                const refused = app.model.refusals(standsOn(app.model, app.state.scenario));
                if (refused.length > 0) { said.textContent = `Not saved, the engine would refuse it: ${refused.map(one => one.text).join("; ")}.`; return; }
                const {text, left, on} = scenarioFile(app.model, app.state.scenario, title.value.trim() || "Asked on the page", reason.value.trim() || "tried on the page");
                save("page_scenario.yaml", "application/yaml", text);
                said.textContent = `${left.length === 0 ? "Saved" : `Saved without ${left.join(", ")}, which another scenario has: change it there`}: name the file under scenarios in study.yaml.${baseText(app, on)}`;
            }}, "Save as scenario"), " ",
            h("button", {type: "button", class: "quiet", click: () => app.reset()}, "Reset all"), " ",
            h("button", {type: "button", class: "quiet", click: () => void copyLink(app, said)}, "Copy link")), said);
    app.follows(() => {
        const {calculation} = app.model;
        panel.hidden = calculation.changed.size === 0;
        list.replaceChildren(...[...calculation.changed].map(([node, value]) => {
            const input = calculation.inputs.get(node)!;
            const address = addressesOf(input)[0]!;
            return h("li", {}, h("a", {href: app.link({view: "trace", traced: address})}, address), `: ${shownValue(app, input, value)}, was ${input.typed}`,
                input.value !== 0 ? ` (${value > input.value ? "+" : "−"}${percent(Math.abs(value / input.value - 1))})` : "", canBeSaved(address) ? "" : " (of a scenario: cannot be saved)");
        }));
    });
    return panel;
}

/** What the saved scenario stands on, where a reader may think otherwise. */
function baseText(app: App, on: string): string {
    if (on !== "today") return ` It stands on ${app.scenarioInText(on)}, since today has not all that was moved; where that scenario meets a change of demand from one source, an amount moved here counts as part of the change.`;
    return app.state.scenario === "today" ? "" : ` It changes today; ${app.scenarioInText(app.state.scenario)} is not part of it.`;
}

async function copyLink(app: App, said: HTMLElement): Promise<void> {
    const link = location.href.split("#")[0]! + app.link({});
    try {
        await navigator.clipboard.writeText(link);
        said.textContent = "The link is copied.";
    } catch {
        said.textContent = link;
    }
}

/** Cards of what must be moved along with what has moved, where they are not there already. */
function tiedInputs(app: App, list: HTMLElement): HTMLElement[] {
    const {calculation} = app.model;
    const there = new Set([...list.querySelectorAll<HTMLElement>("[data-address]")].map(one => one.dataset.address));
    const tied = new Set(app.model.refusals(standsOn(app.model, app.state.scenario)).flatMap(one => calculation.inputsBelow(one.node)));
    return [...tied].filter(input => !app.model.isSpreadParameter(input.n) && !there.has(addressesOf(input)[0]!)).map(input => inputCard(app, input));
}

export function askView(app: App): HTMLElement {
    const result = watched(app), other = compared(app);
    if (result) app.model.calculation.watch([result, other].flatMap(one => one ? [app.node(one)] : []));
    const all = result ? ranked(app, result) : [];
    const list = h("ul", {class: "inputs"});
    const count = h("p", {class: "note", role: "status"});
    const search = h("input", {type: "search", id: "find-input", placeholder: "press dryness"});
    const show = () => {
        const matching = found(app, all, search.value);
        const moved = all.filter(input => app.model.calculation.changed.has(input.n) && !matching.slice(0, most).includes(input));
        list.replaceChildren(...[...moved, ...matching.slice(0, most)].map(input => inputCard(app, input)));
        count.textContent = `${matching.length} of ${all.length} inputs that the figure rests on; those that move it most come first, warming potentials and scarcity factors last${matching.length > most ? `, ${most} are shown` : ""}.`;
    };
    search.addEventListener("input", show);
    show();
    app.follows(() => {
        const tied = tiedInputs(app, list), moved = [...list.querySelectorAll(".moved")].at(-1);
        if (moved) moved.after(...tied);
        else list.prepend(...tied);
    });
    const watching = watchPanel(app);
    return h("div", {class: "view ask"}, choices(app), changedBanner(app), result ? strip(app, result, watching) : null,
        h("div", {class: "columns"},
            h("div", {class: "left"}, watching, changesPanel(app)),
            h("section", {class: "right", "aria-labelledby": "h-inputs"}, h("h2", {id: "h-inputs"}, "Move an input"),
                h("label", {class: "choice search", for: "find-input"}, h("span", {}, "Find an input by its address or words"), search), count, list)));
}
