// The figure: chooses among the lines that the program has drawn for each step of the draw. Nothing is worked out here.
"use strict";

const SVG = "http://www.w3.org/2000/svg";

// An element with attributes and children; words become text and are never read as markup.
function el(name, attributes, ...children) {
  const node = ["svg", "path", "circle", "text", "g", "line", "title"].includes(name)
    ? document.createElementNS(SVG, name) : document.createElement(name);
  for (const [key, value] of Object.entries(attributes || {})) {
    if (value === true) node.setAttribute(key, "");
    else if (value !== false && value != null) node.setAttribute(key, value);
  }
  for (const child of children.flat()) {
    if (child != null) node.append(child);
  }
  return node;
}

function put(node, attributes) {
  for (const [key, value] of Object.entries(attributes)) {
    const words = String(value);
    if (node.getAttribute(key) !== words) node.setAttribute(key, words);
  }
}

// Words, put where they are not yet.
function write(node, words) {
  if (node.textContent !== words) node.textContent = words;
}

// A figure in `root`; `report` is told of each step that is shown.
function makeFigure(root) {
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  let figure = null, steps = null, loop = null, missing = "coming", step = 0, shown = false, playing = 0;

  const slider = el("input", { type: "range", id: "draw-slider", "aria-label": "Draw", min: 0, max: 40, value: 0, step: 1 });
  const said = el("output", { for: "draw-slider", id: "draw-said" });
  const play = el("button", { type: "button", id: "play" }, "Draw the bow");
  const jump = (words, id) => el("button", { type: "button", id }, words);
  const [brace, half, full] = [jump("At brace", "at-brace"), jump("Half draw", "at-half"), jump("Full draw", "at-full")];
  const bow = el("svg", { role: "img", class: "bow" });
  const tips = { upper: el("svg", { role: "img", class: "tip" }), lower: el("svg", { role: "img", class: "tip" }) };
  const flats = { upper: el("svg", { role: "img", class: "flat" }), lower: el("svg", { role: "img", class: "flat" }) };
  const plots = { upper: el("svg", { role: "img", class: "plot" }), lower: el("svg", { role: "img", class: "plot" }) };
  const words = { upper: el("dl", { class: "live" }), lower: el("dl", { class: "live" }) };
  const told = { upper: el("div", { class: "told" }), lower: el("div", { class: "told" }) };
  const coming = el("p", { class: "coming", role: "status" });
  const names = { upper: "Upper tip", lower: "Lower tip" };
  const card = (side) => el("figure", { class: "close " + side },
    el("figcaption", {}, el("h3", {}, names[side])), tips[side], words[side]);
  const below = (side) => el("div", { class: "below" },
    el("figure", {}, el("figcaption", {}, el("h3", {}, names[side] + ", its side laid flat")), flats[side],
      el("p", { class: "key" }, "Left edge: middle of the back. Dash-dotted: middle of the side. Tinted: the floor between wall and fan. "
        + "Thick: the string; beaded: where the loop bears.")),
    el("figure", {}, el("figcaption", {}, el("h3", {}, names[side] + ", reach of the loop against draw")), plots[side], told[side]));
  root.replaceChildren(
    el("h2", {}, "The draw"),
    el("div", { class: "turn" }, play, el("label", { for: "draw-slider" }, "Draw"), slider, said,
      el("div", { class: "jumps" }, brace, half, full)),
    el("div", { class: "views" },
      el("figure", { class: "whole" }, el("figcaption", {}, el("h3", {}, "The bow")), bow),
      card("upper"), card("lower")),
    coming,
    el("div", { class: "belows" }, below("upper"), below("lower")));

  // The parts that change with the step.
  const parts = {};

  function line(kind, d) {
    return el("path", { class: kind, d: d || "" });
  }

  function cord() {
    return [line("cord-edge"), line("cord")];
  }

  function thick([edge, middle], width) {
    put(edge, { "stroke-width": width });
    put(middle, { "stroke-width": width * 0.6 });
  }

  // The elements of the figure; made anew only when there are others.
  function make() {
    const wood = line("wood"), string = line("thread"), unstrung = line("unstrung");
    const nocking = el("circle", { class: "mark", r: 110 }), pivot = el("circle", { class: "pivot", r: 90 });
    bow.replaceChildren(unstrung, wood, string, nocking, pivot);
    parts.bow = { wood, string, nocking, unstrung, pivot };
    for (const side of ["upper", "lower"]) {
      const p = { string: cord(), arc: line("arc"), arrow: line("arrow"), leaves: el("circle", { class: "leaves", r: 70 }),
        angle: el("text", { class: "figure-of", "text-anchor": "middle", "font-size": 290 }),
        body: line("body"), fan: line("floor"), edge: line("edge"), shell: line("glue"), centre: line("centre"), wall: line("wall"),
        seat: el("circle", { class: "seat" }) };
      parts[side] = p;
      tips[side].replaceChildren(p.body, p.fan, p.edge, p.shell, p.centre, p.wall, ...p.string, p.seat, p.leaves, p.arc, p.arrow, p.angle);
      p.flat = { fan: line("floor"), out: line("glue"), centre: line("centre"), wall: line("wall"), edge: line("edge") };
      p.laid = cord();
      p.bears = line("bears");
      const f = p.flat;
      flats[side].replaceChildren(f.fan, f.out, f.centre, f.wall, ...p.laid, p.bears, f.edge);
    }
  }

  function build() {
    if (!parts.bow) make();
    const view = figure.bow;
    put(bow, { viewBox: view.view.join(" ") });
    put(parts.bow.unstrung, { d: view.unstrung });
    put(parts.bow.pivot, { cx: view.pivot[0], cy: view.pivot[1] });
    for (const side of ["upper", "lower"]) {
      const tip = figure.tips[side], p = parts[side];
      put(tips[side], { viewBox: tip.view.join(" ") });
      thick(p.string, tip.string_width);
      for (const node of [p.body, p.edge]) put(node, { d: tip.outline });
      put(p.fan, { d: tip.fan });
      put(p.shell, { d: tip.shell });
      put(p.centre, { d: tip.centre });
      put(p.wall, { d: tip.wall });
      put(p.seat, { cx: tip.seat[0], cy: tip.seat[1], r: tip.string_width / 2 });
      const flat = tip.flat;
      flats[side].closest("figure").hidden = !flat;
      if (flat) {
        put(flats[side], { viewBox: flat.view.join(" ") });
        put(p.flat.centre, { d: "M" + flat.side + " " + flat.view[1] + "v" + flat.view[3] });
        thick(p.laid, flat.string_width);
        put(p.flat.fan, { d: flat.fan });
        put(p.flat.out, { d: flat.run_out });
        put(p.flat.wall, { d: flat.wall });
        put(p.flat.edge, { d: flat.frame });
      }
    }
    put(slider, { max: figure.count - 1 });
  }

  function list(node, pairs) {
    // Terms stay, only the figures change, so that a reader's place is kept.
    if (node.children.length !== pairs.length) {
      node.replaceChildren(...pairs.map(([term]) => el("div", {}, el("dt", {}, term), el("dd", {}))));
    }
    pairs.forEach(([term, value], i) => {
      const [dt, dd] = node.children[i].children;
      if (dt.textContent !== term) dt.textContent = term;
      if (dd.textContent !== value) dd.textContent = value;
    });
  }

  // The lines of a step; none as long as only another one's are there.
  function lines() {
    if (steps) return steps[step];
    return step === figure.at ? figure.now : null;
  }

  function show() {
    const now = figure && lines();
    if (!now) return;
    slider.value = step;
    write(said, now.draw + ", " + now.force);
    const angles = ["upper", "lower"].map((side) => side + " " + now.tips[side].angle).join(", ");
    put(slider, { "aria-valuetext": "draw " + now.draw + ", force " + now.force + ", string angle " + angles });
    put(parts.bow.wood, { d: now.bow.wood });
    put(parts.bow.string, { d: now.bow.string });
    put(parts.bow.nocking, { cx: now.bow.nocking[0], cy: now.bow.nocking[1] });
    put(bow, { "aria-label": "The bow drawn to " + now.draw + ", " + now.force });
    for (const side of ["upper", "lower"]) {
      const tip = now.tips[side], p = parts[side];
      const strand = loop && loop.loops[side].string[step];
      for (const path of p.string) put(path, { d: strand || tip.string });
      put(p.leaves, { cx: tip.leaves[0], cy: tip.leaves[1], visibility: strand || !figure.tips[side].wall ? "hidden" : "visible" });
      put(p.arc, { d: tip.arc });
      put(p.arrow, { d: tip.arrow });
      put(p.angle, { x: tip.arc_at[0], y: tip.arc_at[1] });
      write(p.angle, tip.angle);
      put(tips[side], { "aria-label": names[side] + " at a draw of " + now.draw + ": string angle " + tip.angle + ", pull " + tip.pull });
      const reach = loop ? loop.reach[side][step] : null;
      const without = !loop ? missing : loop.tied[side] ? "tied with a knot" : "the loop is lost";
      list(words[side], [["String angle", tip.angle], ["Pull", tip.pull],
        ["Reach of the throat", reach ? reach[0] : without],
        ["Hardest bearing", reach ? reach[1] : without]]);
      if (tip.flat) {
        for (const path of p.laid) put(path, { d: tip.flat });
        put(p.bears, { d: (loop && loop.loops[side].bears[step]) || "" });
        put(flats[side], { "aria-label": names[side] + ", its side laid flat, at a draw of " + now.draw });
      }
      if (p.at && loop) put(p.at, { x1: loop.plots[side].steps[step], x2: loop.plots[side].steps[step] });
    }
  }

  function plot(side) {
    const data = loop.plots[side], svg = plots[side];
    put(svg, { viewBox: [-62, -20, data.wide + 84, data.high + 78].join(" ") });
    const at = el("line", { class: "now", x1: 0, x2: 0, y1: 0, y2: data.high });
    const text = (x, y, anchor, words, kind) => el("text", { x, y, "text-anchor": anchor, "font-size": 19, class: kind || "" }, words);
    const items = [el("path", { class: "edge", d: "M0 0V" + data.high + "H" + data.wide })];
    for (const [x, words] of data.draws) items.push(el("path", { class: "tick", d: "M" + x + " " + data.high + "v8" }), text(x, data.high + 27, "middle", words));
    for (const [y, words] of data.reaches) items.push(el("path", { class: "tick", d: "M0 " + y + "h-8" }), text(-13, y + 6, "end", words));
    items.push(text(data.wide / 2, data.high + 52, "middle", "draw, " + data.draw_unit), text(-56, -4, "start", "reach, mm"));
    data.curves.forEach((curve, i) => {
      items.push(el("path", { class: i ? "curve other" : "curve own", d: curve.d }));
      for (const [x, y, tall] of curve.clicks) {
        items.push(el("path", { class: "click", d: "M" + x + " " + (y - 4) + "l-7 " + -tall + "h14z" }));
      }
      if (curve.lost != null) items.push(el("path", { class: "lost", d: "M" + curve.lost + " 0V" + data.high }));
    });
    svg.replaceChildren(...items, at);
    parts[side].at = at;
    svg.setAttribute("aria-label", names[side] + ": " + data.curves.map((c) => c.name + ", " + c.said.join("; ")).join(". "));
    const entry = (curve, i) => el("div", { class: "of " + (i ? "other" : "own"), "data-largest": curve.largest_mm },
      el("h4", {}, (i ? "Dashed: " : "Full line: ") + curve.name), el("ul", {}, curve.said.map((s) => el("li", {}, s))));
    const none = loop.no_straight ? loop.no_straight[side] : "";
    told[side].replaceChildren(...data.curves.map(entry),
      ...(loop.no_straight ? [] : [el("p", {}, "The straight groove beside it is being followed …")]),
      ...(none ? [el("p", {}, "A straight groove cannot be filed here: " + none)] : []),
      el("p", { class: "key" }, "Filled triangle: a click, taller for a larger jump. Upright dashes: the loop is lost."));
  }

  function go(to) {
    step = Math.max(0, Math.min(to, figure ? figure.count - 1 : 0));
    show();
  }

  function stop() {
    cancelAnimationFrame(playing);
    playing = 0;
    play.textContent = "Draw the bow";
    play.setAttribute("aria-pressed", "false");
  }

  // Brace to full draw and back in some four seconds; with reduced motion in single steps.
  function start() {
    let began = null;
    const length = figure.count - 1;
    play.textContent = "Hold";
    play.setAttribute("aria-pressed", "true");
    const frame = (time) => {
      began = began ?? time;
      const part = (time - began) / (still.matches ? 12000 : 4000);
      const there = part < 0.5 ? 2 * part : 2 - 2 * part;
      const now = still.matches ? Math.round(there * 8) * length / 8 : there * length;
      if (part >= 1) { go(0); stop(); return; }
      if (Math.round(now) !== step) go(Math.round(now));
      playing = requestAnimationFrame(frame);
    };
    playing = requestAnimationFrame(frame);
  }

  play.setAttribute("aria-pressed", "false");
  play.addEventListener("click", () => (playing ? stop() : figure && start()));
  slider.addEventListener("input", () => { stop(); go(Number(slider.value)); });
  brace.addEventListener("click", () => { stop(); go(0); });
  half.addEventListener("click", () => { stop(); figure && go(figure.middle); });
  full.addEventListener("click", () => { stop(); figure && go(figure.count - 1); });

  // Before there is a figure there is nothing to draw.
  function enable() {
    for (const control of [play, slider, brace, half, full]) control.disabled = !figure;
  }

  return {
    // The first part of an answer; the second is coming.
    show(next) {
      figure = next;
      enable();
      steps = loop = null;
      missing = "coming";
      build();
      if (!shown) { step = next.middle; shown = true; }
      go(step);
      write(coming, "The loop is being followed through the draw …");
      root.classList.add("is-coming");
    },
    // The step that is shown; none before there is a figure.
    step() {
      return shown ? step : null;
    },
    // The lines of all steps.
    steps(next) {
      steps = next;
      show();
    },
    // The second part.
    follow(next) {
      loop = next;
      plot("upper");
      plot("lower");
      show();
      coming.textContent = "";
      root.classList.remove("is-coming");
    },
    // The third part.
    beside(next) {
      if (!loop) return;
      Object.assign(loop, next);
      plot("upper");
      plot("lower");
      show();
    },
    // The last good figure stays while the design is refused; before there is one there is nothing to show or play.
    stale(is, words) {
      root.classList.toggle("is-stale", is);
      enable();
      if (!is) return;
      stop();
      root.classList.remove("is-coming");
      if (!figure) coming.textContent = "The design has faults; its figure comes once they are mended.";
      else {
        coming.textContent = words || "The design has faults; this is the last figure that was good.";
        if (!loop) missing = "not worked out";
        show();
      }
    },
  };
}
