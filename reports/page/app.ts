// What the views share: the model, the state, figures that follow when an input moves, and links between views.
import type {Model, Result} from "./model";
import {addressIn, fragmentOf, nodeOf, type State} from "./state";
import {h, setText} from "./dom";
import {marked, significant} from "./words";

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
    text(result: Result | undefined, view = this.state.electricity): string {
        if (!result) return "–";
        const value = this.value(result, view);
        if (value !== null) return marked(result.bound, significant(value));
        return result.covered ? "no answer" : "–";
    }

    /** A figure that opens its derivation. It follows; one that leads does so at once. */
    figure(result: Result | undefined, view = this.state.electricity, leads = false): HTMLElement {
        if (!result) return h("span", {class: "figure none"}, "–");
        const address = addressIn(this.model, result, view);
        const link = h("a", {class: "figure", title: `how ${address} came about`});
        const say = () => setText(link, this.text(result, view));
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
    indicatorTitle(id: string): string { return id.charAt(0).toUpperCase() + id.slice(1).replaceAll("_", " "); }
}
