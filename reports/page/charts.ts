// Charts: a drawing with its title, its table for those who do not see it, and buttons that save it as picture and
// its data as CSV. Colours are the page's own variables, so that light, dark and print need no second drawing.
import {BarChart} from "echarts/charts";
import {GridComponent, MarkAreaComponent, MarkLineComponent, TooltipComponent} from "echarts/components";
import {init, use, type EChartsCoreOption, type EChartsType} from "echarts/core";
import {SVGRenderer} from "echarts/renderers";
import {h, save} from "./dom";
import {csv, inert, signed, type Cells} from "./words";

use([BarChart, GridComponent, TooltipComponent, MarkLineComponent, MarkAreaComponent, SVGRenderer]);

export const ink = "var(--ink)", line = "var(--line)", paper = "var(--paper)",
    carbon = "var(--carbon)", water = "var(--water)", up = "var(--up)", down = "var(--down)", still = "var(--still)";
// texts are measured before they are drawn, so the font must be known by its name
const font = getComputedStyle(document.documentElement).getPropertyValue("--text").trim();

export const axisText = {color: ink, fontFamily: font, fontSize: 13};

/** What every option starts from: no movement, no HTML in tips. */
export const plain: EChartsCoreOption = {
    animation: false,
    textStyle: {fontFamily: font, color: ink},
    tooltip: {trigger: "item", renderMode: "richText", confine: true, backgroundColor: paper, borderColor: line,
        textStyle: {color: ink, fontSize: 13}},
};

export interface ChartSpec {
    title: string;
    about: () => string[];  ///< what a picture says below its title, to stand alone
    /** By the width there is, in px. */
    height: (width: number) => number;
    option: (width: number) => EChartsCoreOption;
    data: () => Cells[];  ///< with its head
    words: () => string;  ///< what it shows, in a sentence
}

/** A4 less its margins is 688 px wide; charts that stand beside each other share it. */
const paperWidth = 660, halfPaper = 322;
const onPaper = (area: HTMLElement) => (area.closest(".charts")?.childElementCount ?? 1) > 1 ? halfPaper : paperWidth;

/** Where a chart is drawn, and how it stands there: what has changed is drawn anew when it is in view. */
interface Drawing {
    area: HTMLElement;
    spec: ChartSpec;
    chart?: EChartsType;
    seen: boolean;
    stale: boolean;
    width: number;
    height: number;
}

const drawings = new Map<Element, Drawing>();
const sizes = new ResizeObserver(entries => {
    // a drawing that changes its own height while it is being told of its size would be told without end
    requestAnimationFrame(() => {
        for (const {target} of entries) {
            const one = drawings.get(target);
            if (!one || one.width === target.clientWidth) continue;
            if (one.chart) drawAt(one, target.clientWidth);
            else one.area.style.height = `${one.spec.height(target.clientWidth)}px`;
        }
    });
});
const sights = new IntersectionObserver(entries => {
    for (const {target, isIntersecting} of entries) {
        const one = drawings.get(target);
        if (!one) continue;
        one.seen = isIntersecting;
        if (one.seen && one.stale) drawAt(one, one.width || target.clientWidth);
    }
}, {rootMargin: "300px"});

export function forgetCharts(): void {
    sizes.disconnect();
    sights.disconnect();
    for (const one of drawings.values()) one.chart?.dispose();
    drawings.clear();
}

const whenIdle: (task: () => void) => void = "requestIdleCallback" in window ? task => requestIdleCallback(task) : task => setTimeout(task, 50);
let waiting = false;

/** What is out of view is drawn for the first time when there is nothing else to do, one after another. */
function drawWhenIdle(): void {
    if (waiting) return;
    waiting = true;
    whenIdle(() => {
        waiting = false;
        const next = [...drawings.values()].find(one => !one.chart && one.area.clientWidth > 0);
        if (!next) return;
        drawAt(next, next.area.clientWidth);
        drawWhenIdle();
    });
}

/** Paper has less room, and nobody points at a bar there. */
let forPaper = false;

export function drawForPaper(): void {
    forPaper = true;
    for (const one of drawings.values()) drawAt(one, onPaper(one.area));
}

export function drawForScreen(): void {
    forPaper = false;
    for (const one of drawings.values()) drawAt(one, one.area.clientWidth);
}

function drawAt(one: Drawing, width: number): void {
    const {area, spec} = one;
    if (width === 0 || !area.isConnected) return;
    const height = spec.height(width);
    if (height !== one.height) area.style.height = `${height}px`;
    one.chart ??= init(area, null, {renderer: "svg", width, height});
    if (width !== one.width || height !== one.height) one.chart.resize({width, height});
    one.chart.setOption(spec.option(width), {notMerge: true});
    area.querySelector("svg")?.setAttribute("viewBox", `0 0 ${width} ${height}`); // so that paper can scale it
    Object.assign(one, {width, height, stale: false});
}

/** A figure element, and what draws it anew. */
export function chart(spec: ChartSpec): { element: HTMLElement; draw: () => void } {
    const area = h("div", {class: "drawing", role: "img"});
    const one: Drawing = {area, spec, seen: false, stale: true, width: 0, height: 0};
    const name = inert(spec.title).replace(/[^\p{L}\p{N}]+/gu, "_").slice(0, 60);
    const element = h("figure", {class: "chart"},
        h("figcaption", {}, h("span", {}, spec.title), h("span", {class: "tools"},
            h("button", {type: "button", class: "quiet", "aria-label": `Save ${spec.title} as picture`,
                click: () => void savePicture(one, `${name}.png`)}, "Picture"),
            h("button", {type: "button", class: "quiet", "aria-label": `Save the data of ${spec.title} as CSV`,
                click: () => save(`${name}.csv`, "text/csv", csv(spec.data()))}, "CSV"))),
        area);
    let shown = "";
    const draw = () => {
        const data = JSON.stringify(spec.data());
        if (data !== shown) {
            area.setAttribute("aria-label", inert(spec.words()));
            one.stale = true;
        }
        shown = data;
        if (one.seen && one.stale) drawAt(one, one.width);
        if (!one.chart) area.style.height ||= `${spec.height(paperWidth)}px`;
        if (!area.isConnected || drawings.has(area)) return;
        drawings.set(area, one);
        sizes.observe(area);
        sights.observe(area);
        drawWhenIdle();
    };
    return {element, draw};
}

/** The drawing with its colours as they are seen, so that it stands alone. */
function pictureText(area: HTMLElement): { text: string; width: number; height: number } {
    const drawing = area.querySelector("svg")!;
    const style = getComputedStyle(document.documentElement);
    const {width, height} = area.getBoundingClientRect();
    const text = new XMLSerializer().serializeToString(drawing)
        .replace(/var\((--[a-z]+)\)/g, (_, name: string) => style.getPropertyValue(name).trim().replaceAll("\"", "'"));
    return {text, width, height};
}

async function savePicture(one: Drawing, name: string): Promise<void> {
    const {area} = one;
    if (one.stale) drawAt(one, area.clientWidth);
    const {text, width, height} = pictureText(area);
    const image = new Image();
    image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(text)}`;
    await image.decode();
    const margin = 12;
    const heads = [...wrapped(inert(one.spec.title), 0.8 * width).map(text => ({text, size: fontSize + 2})),
        ...one.spec.about().flatMap(text => wrapped(inert(text), width)).map(text => ({text, size: fontSize}))];
    const top = margin + heads.length * (lineHeight + 4);
    const canvas = h("canvas");
    canvas.width = 2 * (width + 2 * margin);
    canvas.height = 2 * (top + height + margin);
    const context = canvas.getContext("2d")!;
    const style = getComputedStyle(document.documentElement);
    context.scale(2, 2);
    context.fillStyle = style.getPropertyValue("--paper");
    context.fillRect(0, 0, canvas.width, canvas.height);
    context.fillStyle = style.getPropertyValue("--ink");
    heads.forEach(({text, size}, k) => {
        context.font = `${size > fontSize ? "bold " : ""}${size}px ${font}`;
        context.fillText(text, margin, margin + (k + 0.75) * (lineHeight + 4));
    });
    context.drawImage(image, margin, top, width, height);
    canvas.toBlob(blob => { if (blob) save(name, "image/png", blob); });
}

const fontSize = 13, lineHeight = 16;
const measure = h("canvas").getContext("2d")!;

function textWidth(text: string): number {
    measure.font = `${fontSize}px ${font}`;
    return measure.measureText(text).width;
}

/** Room for the names beside bars: what the longest needs, up to a good part of the drawing. */
function nameWidth(names: string[], width: number): number {
    return Math.ceil(Math.min(Math.max(0, ...names.map(textWidth)) + 4, Math.max(100, 0.42 * width)));
}

/** A text in lines: broken at spaces, and a word that is too long for a line where it must be. */
function wrapped(text: string, width: number): string[] {
    const lines: string[] = [];
    let last = "";
    for (const word of text.split(" ")) {
        const joined = last === "" ? word : `${last} ${word}`;
        if (textWidth(joined) <= width) { last = joined; continue; }
        if (last !== "") lines.push(last);
        last = word;
        for (let fits = last.length - 1; fits > 0 && textWidth(last) > width; fits = last.length - 1) {
            while (fits > 1 && textWidth(last.slice(0, fits)) > width) --fits;
            lines.push(last.slice(0, fits));
            last = last.slice(fits);
        }
    }
    return [...lines, last];
}

export interface Bar { name: string; value: number; text: string; colour?: string }

/** What is drawn along bars, with its unit; without a scale the amounts beside the bars say it all. */
export interface Axis { name: string; scale?: boolean }

const axisRoom = ({scale}: Axis) => scale ? 56 : 26;

/** Bars from left to right, one a row, from zero, with their amounts written beside them. */
export function bars(rows: Bar[], colour: string, width: number, axis: Axis): EChartsCoreOption {
    const least = Math.min(0, ...rows.map(row => row.value)), most = Math.max(0, ...rows.map(row => row.value));
    const names = rows.map(row => inert(row.name));
    const nameRoom = nameWidth(names, width);
    const left = nameRoom + 12;
    const label = Math.max(0, ...rows.map(row => textWidth(row.text))) + 18;
    const sides = least < 0 && most > 0 ? 2 : 1;
    const room = Math.max(0.24, label / Math.max(label, width - left - 4 - sides * label)) * (most - least || 1);
    return {
        ...plain,
        grid: {left, right: 4, top: 4, bottom: axisRoom(axis), outerBoundsMode: "none"}, // what is known need not be laid out
        xAxis: {type: "value", min: least < 0 ? least - room : 0, max: most + (most > 0 || least === 0 ? room : 0.3 * room), axisLine: {show: false}, axisTick: {show: false},
            name: inert(axis.name), nameLocation: "middle", nameGap: axis.scale ? 26 : 6, nameTextStyle: {...axisText, width: width - left - 4, overflow: "truncate"},
            axisLabel: {...axisText, show: axis.scale === true, hideOverlap: true, showMinLabel: false, showMaxLabel: false, formatter: (value: number) => signed(value)}, splitLine: {show: axis.scale === true, lineStyle: {color: line}}},
        yAxis: {type: "category", inverse: true, data: names.map(name => wrapped(name, nameRoom).join("\n")), axisTick: {show: false},
            axisLine: {lineStyle: {color: line}, onZero: true}, axisLabel: {...axisText, lineHeight, interval: 0}},
        series: [{
            type: "bar", barWidth: "62%", barMaxWidth: 30, cursor: "default", emphasis: {disabled: true},
            data: rows.map(row => ({
                value: row.value, itemStyle: {color: row.colour ?? colour},
                label: {show: true, position: row.value < 0 ? "left" : "right", formatter: () => inert(row.text), ...axisText},
            })),
            tooltip: {formatter: ({dataIndex}: { dataIndex: number }) => inert(`${rows[dataIndex]!.name}: ${rows[dataIndex]!.text}`)},
        }],
    };
}

/** Every row as high as the most lines of a name. */
export function barHeight(names: string[], width: number, axis: Axis): number {
    const room = nameWidth(names, width);
    const lines = Math.max(1, ...names.map(name => wrapped(name, room).length));
    return Math.max(1, names.length) * Math.max(forPaper ? 22 : 30, lines * lineHeight + (forPaper ? 4 : 8)) + axisRoom(axis) + 4;
}
