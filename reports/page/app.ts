// What the views share: the model, the state, figures that follow when an input moves, and links between views.
import type {Model, Result} from "./model";
import {addressIn, fragmentOf, nodeOf, type State} from "./state";
import {h} from "./dom";
import {marked, significant} from "./words";

export class App {
    private readonly followers: (() => void)[] = [];
    private afterMoves = 0;

    constructor(readonly model: Model, public state: State, private readonly show: () => void) {}

    /** Goes to another state: the address of the page says so, and the view is drawn anew. */
    go(change: Partial<State>): void {
        this.state = {...this.state, ...change};
        history.pushState(null, "", fragmentOf(this.model, this.state));
        this.show();
    }

    link(change: Partial<State>): string { return fragmentOf(this.model, {...this.state, ...change}); }

    /** `follow` runs now, and again whenever an input has moved, as long as the view stands. */
    follows(follow: () => void): void {
        this.followers.push(follow);
        follow();
    }

    forgetFollowers(): void { this.followers.length = 0; }

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

    refresh(): void {
        for (const follow of this.followers) follow();
        clearTimeout(this.afterMoves);
        this.afterMoves = window.setTimeout(() => history.replaceState(null, "", fragmentOf(this.model, this.state)), 300);
    }

    node(result: Result): number { return nodeOf(result, this.state.electricity); }
    value(result: Result): number | null {
        return result.covered ? this.model.calculation.answer(this.node(result)) : null;
    }

    /** The figure of a result as text. */
    text(result: Result | undefined): string {
        if (!result) return "–";
        const value = this.value(result);
        if (value !== null) return marked(result.bound, significant(value));
        return result.covered ? "no answer" : "–";
    }

    /** A figure that opens its derivation. It follows. */
    figure(result: Result | undefined): HTMLElement {
        if (!result) return h("span", {class: "figure none"}, "–");
        const address = addressIn(this.model, result, this.state.electricity);
        const link = h("a", {class: "figure", title: `how ${address} came about`});
        this.follows(() => {
            link.textContent = this.text(result);
            link.href = this.link({view: "trace", traced: address});
        });
        return link;
    }

    /** A value that belongs to no result: a node of the calculation. */
    traceLink(node: number, text: string): HTMLElement {
        const address = this.model.nameOf(node);
        return address === "" ? h("span", {}, text) : h("a", {class: "figure", href: this.link({view: "trace", traced: address})}, text);
    }

    productTitle(of: string, scenario = this.state.scenario): string {
        const subject = this.model.subject(scenario, of);
        return subject ? (subject.kind === "all" ? "Whole output" : subject.title || subject.id) : of;
    }

    scenarioTitle(id: string): string { return this.model.scenarios.get(id)?.title ?? id; }
    indicatorTitle(id: string): string { return id.charAt(0).toUpperCase() + id.slice(1).replaceAll("_", " "); }
}
