// What the views share: the model, the state, figures that follow when an input moves, and links between views.
import type {Grouping} from "./breakout";
import type {Model, Result} from "./model";
import {addressIn, fragmentOf, nodeOf, type State} from "./state";
import {h, setText} from "./dom";
import {marked, plain, significant, spaced} from "./words";

/** CO2e that a factor states as such has no gas, but the line it was typed in. */
const statedLines = ["fossil", "biogenic", "land_use", "land_management"];

export class App {
    private readonly followers: (() => void)[] = [];
    private readonly leaders: (() => void)[] = [];
    private frame = 0;
    private afterMoves = 0;

    constructor(readonly model: Model, public state: State, private readonly show: () => void) {}

    /** Goes to another state: the address of the page says so, and the view is drawn anew. */
    go(change: Partial<State>): void {
        this.state = {...this.state, ...change};
        history.pushState(null, "", fragmentOf(this.model, this.state));
        this.show();
    }

    link(change: Partial<State>): string { return fragmentOf(this.model, {...this.state, part: "", beside: "", ...change}); }

    /** `follow` runs now, and again whenever an input has moved, as long as the view stands. */
    follows(follow: () => void): void {
        this.followers.push(follow);
        follow();
    }

    /** As follows, but at once on every move, before the screen is drawn: for the figure that is watched. */
    leads(follow: () => void): void {
        this.leaders.push(follow);
        follow();
    }

    forgetFollowers(): void {
        this.followers.length = 0;
        this.leaders.length = 0;
        cancelAnimationFrame(this.frame);
        this.frame = 0;
    }

    /** Once the view stands in the page: what could not be drawn before is drawn. */
    redraw(): void { for (const follow of this.followers) follow(); }

    move(input: number, value: number): void {
        this.model.calculation.set(input, value);
        this.refresh();
    }

    reset(): void {
        this.model.calculation.reset();
        this.refresh();
    }

    /** What leads follows at once, the rest with the next frame: once, however many moves come before it. */
    private refresh(): void {
        for (const follow of this.leaders) follow();
        this.frame ||= requestAnimationFrame(() => this.catchUp());
    }

    /** What waits for a frame follows now. */
    catchUp(): void {
        if (this.frame === 0) return;
        cancelAnimationFrame(this.frame);
        this.frame = 0;
        this.redraw();
        clearTimeout(this.afterMoves);
        this.afterMoves = window.setTimeout(() => history.replaceState(null, "", fragmentOf(this.model, this.state)), 300);
    }

    node(result: Result, view = this.state.electricity): number { return nodeOf(result, view); }
    value(result: Result, view = this.state.electricity): number | null {
        return result.covered ? this.model.calculation.answer(this.node(result, view)) : null;
    }

    /** The figure of a result as text. */
    text(result: Result | undefined, view = this.state.electricity, digits = 3): string {
        if (!result) return "–";
        const value = this.value(result, view);
        if (value !== null) return marked(result.bound, significant(value, digits));
        return result.covered ? "no answer" : "–";
    }

    /** A figure that opens its derivation. It follows; one that leads does so at once. `digits` is asked anew each time. */
    figure(result: Result | undefined, view = this.state.electricity, leads = false, digits = () => 3): HTMLElement {
        if (!result) return h("span", {class: "figure none"}, "–");
        const address = addressIn(this.model, result, view);
        const link = h("a", {class: "figure", title: `how ${address} came about`});
        const say = () => setText(link, this.text(result, view, digits()));
        if (leads) this.leads(say);
        this.follows(() => {
            say();
            link.href = this.link({view: "trace", traced: address});
        });
        return link;
    }

    address(result: Result): string { return addressIn(this.model, result, this.state.electricity); }

    /** A part of a figure, of the break-out chosen: it opens what brings it. */
    partLink(result: Result, part: string, text: string): HTMLElement {
        return h("a", {class: "figure", title: `what brings this part of ${this.address(result)}`, href: this.link({view: "trace", traced: this.address(result), part})}, text);
    }

    /** A number that two figures make, an index or a change: it opens both. */
    pairLink(result: Result, base: Result, text: string): HTMLElement {
        return h("a", {class: "figure", title: `${this.address(result)} against ${this.address(base)}`,
            href: this.link({view: "trace", traced: this.address(result), beside: this.address(base)})}, text);
    }

    /** Its title, with its mill where another mill makes one of the same title. */
    productTitle(of: string, scenario = this.state.scenario): string {
        const subject = this.model.subject(scenario, of);
        if (!subject) return of;
        if (subject.kind === "all") return "Whole output";
        const meets = subject.title !== "" && this.model.subjects(scenario).some(one => one.id !== of && one.title === subject.title);
        return meets ? `${subject.title} (${of.split(".")[0]!})` : subject.title || subject.id;
    }

    scenarioTitle(id: string): string { return this.model.scenarios.get(id)?.title ?? id; }
    /** A scenario in the middle of a sentence. */
    scenarioInText(id: string): string { return id === "today" ? "today" : `“${this.scenarioTitle(id)}”`; }
    indicatorTitle(id: string): string { return plain(id); }

    /** What parts of a break-out are: water has no gases. */
    groupingTitle(by: Grouping, indicator: string): string {
        if (by === "use") return "use of a process";
        if (by !== "gas" || (this.model.indicators.get(indicator)?.unit.startsWith("kg CO2e") ?? true)) return by;
        return indicator.startsWith("water") ? "kind of water" : "kind";
    }

    /** The name of a part of a break-out in words. */
    partTitle(by: Grouping, name: string): string {
        if (by === "scope") return `scope ${name}`;
        if (by === "gas") return name === "total" ? "CO2e given as one number" : statedLines.includes(name) ? `CO2e, ${spaced(name)}` : spaced(name);
        const [whose = "", use] = by === "use" ? name.split(": ") : [name];
        return `${this.model.ownTitle(whose) || spaced(whose)}${use === undefined ? "" : `: ${spaced(use)}`}`;
    }

    /** How many inputs are not as typed, as part of a line on a product; "" for none. */
    movedText(): string {
        const count = this.model.calculation.changed.size;
        return count === 0 ? "" : `with ${count} input${count === 1 ? "" : "s"} moved on this page`;
    }

    /** What a picture of a chart must say to stand alone. */
    about(result: Result | undefined, of = this.productTitle(this.state.product)): string[] {
        const head = this.model.head(this.state.scenario);
        return [[of, this.scenarioTitle(this.state.scenario), `${this.state.electricity}-based electricity`, this.movedText()].filter(text => text !== "").join("; "),
            result ? `in ${result.unit}` : "", [head.title, head.owner, head.period.replace(" .. ", " to ")].filter(Boolean).join(", ")].filter(text => text !== "");
    }
}
