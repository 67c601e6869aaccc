// The page: unpacks what it carries, recomputes it, and shows the view that its address asks for.
import {App} from "./app";
import {askView} from "./ask";
import {drawForPaper, drawForScreen, forgetCharts} from "./charts";
import {carried} from "./data";
import {h} from "./dom";
import {Model} from "./model";
import {readView} from "./read";
import {recheckView, verdict} from "./recheck";
import {readChanges, readState, unknownWishes, views, type ViewName} from "./state";
import {traceView} from "./trace";

const titles: Record<ViewName, string> = {read: "Read", ask: "Ask", trace: "Trace", recheck: "Recheck"};
const makers: Record<ViewName, (app: App) => HTMLElement> = {read: readView, ask: askView, trace: traceView, recheck: recheckView};

class Page {
    private readonly app: App;
    private readonly model: Model;
    private readonly main = h("main", {id: "main", tabindex: -1});
    private readonly navigation = h("nav", {"aria-label": "Views"});

    constructor(model: Model) {
        this.model = model;
        this.app = new App(model, readState(model, location.hash), () => this.show());
        document.getElementById("page")!.replaceChildren(h("a", {class: "skip", href: "#main", click: event => {
            event.preventDefault();
            this.main.focus();
        }}, "To the content"), this.header(), this.main, this.footer());
        window.addEventListener("popstate", () => this.follow());
        window.addEventListener("hashchange", () => this.follow());
        window.addEventListener("beforeprint", () => {
            this.app.catchUp();
            toPaper(this.main);
        });
        window.addEventListener("afterprint", () => fromPaper(this.main));
        this.follow();
    }

    private header(): HTMLElement {
        const head = this.model.head("today");
        const {good, text} = verdict(this.app);
        return h("header", {}, h("div", {class: "title"}, h("p", {class: "owner"}, [head.owner, head.period.replace(" .. ", " to ")].filter(Boolean).join(", ")),
            h("h1", {}, head.title),
            h("p", {class: good ? "verdict" : "verdict alarm"}, h("a", {href: "#recheck"}, text))), this.navigation);
    }

    private footer(): HTMLElement {
        return h("footer", {}, h("p", {}, `Written by ${this.model.page.program}. Everything on this page is in this one file; it asks nothing of any network.`));
    }

    /** What the address asks for, moved inputs included. */
    private follow(): void {
        this.app.state = readState(this.model, location.hash);
        const {calculation} = this.model;
        const {changes: asked, refused} = readChanges(this.model, location.hash);
        const unchanged = asked.size === calculation.changed.size && [...asked].every(([node, value]) => calculation.changed.get(node) === value);
        if (!unchanged) {
            calculation.reset();
            for (const [node, value] of asked) calculation.set(node, value);
        }
        this.show();
        this.main.prepend(...passedOver(refused, unknownWishes(this.model, location.hash)));
    }

    private show(): void {
        const {app} = this;
        forgetCharts();
        this.model.calculation.watch(null);
        app.forgetFollowers();
        this.navigation.replaceChildren(...views.map(view => h("a", {href: app.link({view}), "aria-current": view === app.state.view ? "page" : null}, titles[view])));
        app.follows(() => {
            [...this.navigation.querySelectorAll("a")].forEach((link, k) => { link.href = app.link({view: views[k]!}); });
        });
        const focused = (document.activeElement as HTMLElement | null)?.closest(".choice")?.firstElementChild?.textContent;
        this.main.replaceChildren(makers[app.state.view](app));
        app.redraw();
        performance.mark("shown");
        if (focused) restoreFocus(this.main, focused);
    }
}

/** What a link asks for in vain: without a word its reader would take these figures for those that were meant. */
function passedOver(sets: string[], wishes: string[]): HTMLElement[] {
    const listed = (texts: string[]) => `${texts.slice(0, 5).map(text => text.length > 80 ? `${text.slice(0, 80)}…` : text).join(", ")}${texts.length > 5 ? ` and ${texts.length - 5} more` : ""}`;
    const line = (text: string) => h("p", {class: "alarm passed-over", role: "status"}, text);
    return [
        ...(sets.length > 0 ? [line(`This link sets ${sets.length} input${sets.length === 1 ? " that is" : "s that are"} not on this page or not allowed: ${listed(sets)}`)] : []),
        ...(wishes.length > 0 ? [line(`This link asks for what is not on this page: ${listed(wishes)}`)] : []),
    ];
}

/** On paper nothing can be opened, and it is narrower than a screen. */
function toPaper(main: HTMLElement): void {
    for (const one of main.querySelectorAll<HTMLDetailsElement>(".read details:not([open])")) {
        one.open = true;
        one.dataset.closed = "";
    }
    drawForPaper();
}

function fromPaper(main: HTMLElement): void {
    for (const one of main.querySelectorAll<HTMLDetailsElement>("details[data-closed]")) {
        one.open = false;
        delete one.dataset.closed;
    }
    drawForScreen();
}

/** A choice that drew the view anew keeps the keyboard. */
function restoreFocus(main: HTMLElement, label: string): void {
    const same = [...main.querySelectorAll(".choice")].find(one => one.firstElementChild?.textContent === label);
    same?.querySelector<HTMLElement>("select, input")?.focus();
}

/** What stands in the timeline of a browser for who measures. */
function marked<T>(name: string, made: T): T {
    performance.mark(name);
    return made;
}

carried().then(data => new Page(marked("recomputed", new Model(marked("unpacked", data)))), (error: unknown) => {
    document.getElementById("still")!.prepend(h("p", {class: "alarm"}, `This browser cannot open what the page carries: ${String(error)}`));
});
