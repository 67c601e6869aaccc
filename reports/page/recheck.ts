// The view "Recheck": whether the page finds again what the engine computed, and which files it rests on.
import type {App} from "./app";
import {h} from "./dom";
import {counted} from "./words";

export function verdict(app: App): { good: boolean; text: string } {
    const {figures, same, close, differing} = app.model.recheck;
    if (differing.length > 0) return {good: false, text: `✗ ${counted(differing.length)} of ${counted(figures)} figures differ from the engine's`};
    const how = close === 0 ? "bit for bit" : `${counted(same)} bit for bit, ${counted(close)} within 1e-12`;
    return {good: true, text: `✓ ${counted(figures)} figures recomputed here equal the engine's, ${how}`};
}

export function recheckView(app: App): HTMLElement {
    const {recheck, page, calculation} = app.model;
    const {good, text} = verdict(app);
    return h("div", {class: "view recheck"},
        h("section", {class: "part", "aria-labelledby": "h-recheck"}, h("h2", {id: "h-recheck"}, "Recomputed on loading"),
            h("p", {class: good ? "verdict" : "verdict alarm", id: "verdict"}, text),
            h("p", {}, `The ${counted(recheck.figures)} figures stand behind ${counted(recheck.results)} results in both views of electricity: where results are one number, they count as one figure. They were taken from the inputs anew over ${counted(recheck.nodes)} numbers, in ${recheck.milliseconds.toFixed(1)} ms by this browser, and held against those that ${page.program} wrote.`),
            recheck.differing.length === 0 ? null : h("ul", {}, ...recheck.differing.slice(0, 50).map(one =>
                h("li", {}, h("a", {href: app.link({view: "trace", traced: one.address})}, one.address), `: engine ${one.engine}, here ${one.here}`)))),
        h("section", {class: "part", "aria-labelledby": "h-seal"}, h("h2", {id: "h-seal"}, "What it rests on"),
            h("p", {}, page.seal === "" ? "This page was written from files that carry no seal." : `Seal, SHA-256: ${page.seal}`),
            h("p", {class: "note"}, "SHA-256 of every file read. Who has the files compares with sha256sum."),
            h("div", {class: "scroll", tabindex: 0, role: "region", "aria-label": "Files read"}, h("table", {class: "files"},
                h("thead", {}, h("tr", {}, h("th", {scope: "col"}, "file"), h("th", {scope: "col"}, "SHA-256"))),
                h("tbody", {}, ...calculation.data.files.map(file => h("tr", {}, h("th", {scope: "row"}, file.path), h("td", {}, h("code", {}, file.sha256)))))))));
}
