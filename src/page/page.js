// The bench page: the form, the text, and what is kept. Every number comes from the program.
"use strict";

(() => {
  const $ = (id) => document.getElementById(id);
  const key = location.hash.slice(1);
  const figure = makeFigure($("draw"));
  const KEPT = "nockwright-bench";
  const state = { text: "", saved: "", file: "design.toml", answer: null, undo: [], redo: [], last: "", when: 0, offered: null, turned: null, shown: false };

  // ---- asking the program

  // A lasting connection spares each change a request of its own; where there is none, requests do.
  let line = null, number = 0;
  const asked = new Map();

  function connect() {
    if (line) return;
    try {
      line = new WebSocket(location.origin.replace(/^http/, "ws") + "/lasting", "nockwright." + key);
    } catch (error) {
      return;
    }
    const own = line;
    line.addEventListener("message", (event) => {
      const cut = event.data.indexOf("\n"), [of, status] = event.data.slice(0, cut).split(" ").map(Number);
      const waits = asked.get(of);
      asked.delete(of);
      if (!waits) return;
      const words = event.data.slice(cut + 1);
      if (status === 200) waits.done(JSON.parse(words));
      else waits.lost(new Error(words));
    });
    line.addEventListener("close", () => {
      if (line === own) line = null;
      for (const waits of asked.values()) waits.lost(new TypeError("the connection has ended"));
      asked.clear();
    });
  }

  async function ask(path, body) {
    if (line && line.readyState === WebSocket.OPEN && !(body instanceof Blob)) {
      try {
        return await new Promise((done, lost) => {
          number += 1;
          asked.set(number, { done, lost });
          line.send(number + " " + path + "\n" + JSON.stringify(body));
        });
      } catch (error) {
        // Asked once more by a request of its own where only the connection has gone.
        if (!(error instanceof TypeError)) throw error;
      }
    }
    connect();
    const bytes = body instanceof Blob ? body : JSON.stringify(body);
    const answer = await fetch(path, { method: "POST", body: bytes, headers: { "x-nockwright-key": key } });
    if (!answer.ok) throw new Error(await answer.text());
    return answer.json();
  }

  function say(words) {
    $("state").textContent = words;
  }

  function failed(error) {
    const gone = error instanceof TypeError;
    say(gone ? "The program does not answer; what you typed is kept in this browser." : error.message);
  }

  // ---- changes: one is under way at a time; of those that wait, the last one for each key counts

  let under = false;
  const waiting = new Map();
  // Changes that got no answer: they are kept in this browser with the text, and asked again where only the program was not there.
  const unanswered = new Map();
  let again = 0;
  // Who waits until nothing is under way.
  let idlers = [];
  // A slider that has not moved for so long (ms) is at rest.
  const REST = 40;
  let loopTimer = 0, loopUnder = false, loopWanted = false;

  // A change is what is to be set, or a function that tells it when its turn comes.
  function change(name, set) {
    waiting.delete(name);
    waiting.set(name, set);
    if (!under) next();
  }

  async function next() {
    under = true;
    clearTimeout(again);
    while (waiting.size) {
      const [name, wish] = waiting.entries().next().value;
      waiting.delete(name);
      const set = typeof wish === "function" ? wish() : wish;
      if (!set) continue;
      const { file, back, taken, ...plain } = set;
      const body = set.text !== undefined ? { text: set.text } : { text: state.text, set: plain };
      body.step = figure.step();
      if (state.form) body.form = state.form;
      try {
        const answer = await ask("/change", body);
        unanswered.delete(name);
        told = 0;
        took(answer, name, set);
      } catch (error) {
        if (!waiting.has(name)) unanswered.set(name, set);
        failed(error);
        figure.stale(true, "The program has not answered: this is the figure from before the last change.");
        keep();
        if (error instanceof TypeError) {
          again = setTimeout(() => {
            const lost = [...unanswered].filter(([name]) => !waiting.has(name)), since = [...waiting];
            waiting.clear();
            for (const [name, set] of [...lost, ...since]) waiting.set(name, set);
            if (!under) next();
          }, 2000);
          break;
        }
      }
    }
    under = false;
    const wait = idlers;
    idlers = [];
    for (const done of wait) done();
    settled();
  }

  // Until all that was typed or turned has been sent and answered; whether it all was.
  async function settledDown() {
    for (const parts of fields.values()) if (parts.send) parts.send();
    sendText();
    if (under) await new Promise((done) => idlers.push(done));
    return !unanswered.size;
  }

  // A run of moves of one slider is one step back.
  function remember(name, before) {
    const now = performance.now();
    if (name !== state.last || now - state.when > 1200 || !name.startsWith("slide ")) {
      state.undo.push({ text: before, file: state.file });
      if (state.undo.length > 300) state.undo.shift();
    }
    state.redo = [];
    state.last = name;
    state.when = now;
  }

  function took(answer, name, set) {
    if (answer.text !== state.text) {
      if (!set.back) remember(name, state.text);
      state.text = answer.text;
      state.turned = set.key || null;
      keepSoon();
    }
    if (set.file) state.file = set.file;
    if (set.taken) drop(set.taken);
    state.answer = answer;
    state.form = answer.form;
    render(answer);
  }

  function settled() {
    asking = "";
    clearTimeout(loopTimer);
    loopWanted = true;
    // While a slider moves, only its own answers are worked out; the loop follows when it rests.
    loopTimer = setTimeout(() => {
      showText(true);
      otherSteps();
      followLoop();
    }, REST);
  }

  // The lines of the steps that are not shown.
  async function otherSteps() {
    if (under || !state.answer || !state.answer.figure) return;
    const text = state.text;
    try {
      const steps = await ask("/steps", { text });
      if (steps && text === state.text && !under) figure.steps(steps);
    } catch (error) {
      failed(error);
    }
  }

  async function followLoop() {
    if (loopUnder || under || !state.answer || !state.answer.figure) return;
    loopUnder = true;
    loopWanted = false;
    const text = state.text;
    try {
      const loop = await ask("/loop", { text });
      if (loop && text === state.text && !under) {
        figure.follow(loop);
        findings(loop);
        followBeside();
      }
    } catch (error) {
      failed(error);
    }
    loopUnder = false;
    if (loopWanted && !under) followLoop();
  }

  // The straight groove beside it takes longer and is only looked at: it comes last, and waits until nothing else is asked.
  let besideUnder = false, besideWanted = false;

  async function followBeside() {
    besideWanted = true;
    if (besideUnder) return;
    besideUnder = true;
    while (besideWanted) {
      besideWanted = false;
      const text = state.text;
      try {
        const both = await ask("/beside", { text });
        if (both && text === state.text && !under && !loopUnder) figure.beside(both);
      } catch (error) {
        failed(error);
      }
    }
    besideUnder = false;
  }

  // ---- the form

  // Each field's elements, and each field as it was last sent, by key.
  const fields = new Map(), known = new Map();

  function idOf(fieldKey) {
    return "m-" + fieldKey.replace(/[^a-z0-9]+/gi, "-");
  }

  function makeField(field) {
    const id = idOf(field.key);
    const parts = { id, key: field.key };
    const about = id + "-about", wrong = id + "-wrong";
    const closed = field.words.length && !field.key.endsWith(".wood");
    if (closed) {
      parts.input = el("select", { id, "aria-describedby": wrong });
      parts.input.addEventListener("change", () => change(field.key, { key: field.key, value: parts.input.value }));
    } else {
      const list = field.words.length ? id + "-list" : null;
      parts.input = el("input", { type: "text", id, "aria-describedby": wrong, autocomplete: "off", spellcheck: "false", list });
      if (list) parts.list = el("datalist", { id: list }, field.words.map((w) => el("option", { value: w })));
      let timer = 0;
      const send = parts.send = () => {
        clearTimeout(timer);
        timer = 0;
        const now = known.get(field.key);
        if (now && parts.input.value !== (now.value ?? "")) {
          change(field.key, { key: field.key, value: parts.input.value });
        }
      };
      // An emptied field is as a rule about to be written anew: it is left out of the file once it is left or entered so.
      parts.input.addEventListener("input", () => {
        clearTimeout(timer);
        if (parts.input.value) timer = setTimeout(send, 500);
      });
      parts.input.addEventListener("change", send);
      parts.input.addEventListener("keydown", (event) => { if (event.key === "Enter") send(); });
    }
    parts.slider = el("input", { type: "range", id: id + "-slide", step: 1, "aria-label": field.label + ", slider" });
    // A finger that goes up or down over a slider scrolls the page: it moves nothing until it is lifted, or goes along.
    let touched = null;
    const slide = () => {
      const set = { key: field.key, step: parts.slider.dataset.step, at: Number(parts.slider.value) };
      change("slide " + field.key, set);
    };
    parts.slider.addEventListener("pointerdown", (event) => {
      touched = event.pointerType === "touch" ? { x: event.clientX, value: parts.slider.value } : null;
      parts.held = true;
    });
    parts.slider.addEventListener("pointerup", () => { parts.held = false; });
    parts.slider.addEventListener("pointermove", (event) => {
      if (touched && Math.abs(event.clientX - touched.x) > 8) touched = null;
    });
    parts.slider.addEventListener("pointercancel", () => {
      if (touched) parts.slider.value = touched.value;
      touched = null;
      parts.held = false;
    });
    parts.slider.addEventListener("input", () => { if (!touched) slide(); });
    parts.slider.addEventListener("change", () => {
      if (touched && parts.slider.value !== touched.value) slide();
      touched = null;
    });
    parts.reading = el("span", { class: "reading" });
    parts.wrong = el("p", { class: "wrong", id: wrong });
    parts.about = el("div", { class: "about", id: about });
    parts.label = el("label", { for: id }, field.label);
    parts.row = el("div", { class: "measure", "data-key": field.key },
      el("div", { class: "line" }, parts.label, parts.input, parts.list || null),
      el("div", { class: "line second" }, parts.slider, parts.reading,
        el("details", {}, el("summary", { "aria-label": "why: " + field.label }, "why"), parts.about)),
      parts.wrong);
    return parts;
  }

  // What a key left out stands at, without the reason.
  function short(standing) {
    return standing.replace(/^stands at:? /, "").split(/\. | \(/)[0];
  }

  function fill(parts, field) {
    const value = field.value ?? "";
    const busy = document.activeElement === parts.input;
    if (parts.input.tagName === "SELECT") {
      const words = ["", ...field.words];
      if (value && !words.includes(value)) words.push(value);
      if (parts.words !== words.join("\n")) {
        parts.words = words.join("\n");
        parts.input.replaceChildren(...words.map((w) => el("option", { value: w }, w || "(" + (short(field.standing) || "none") + ")")));
      }
      if (parts.input.value !== value) parts.input.value = value;
    } else {
      // What is being typed is left alone unless something else changed it.
      if (!busy || parts.shown !== value) parts.input.value = value;
      parts.input.placeholder = short(field.standing);
    }
    // Words that have no room beside the label get a line of their own.
    const words = parts.input.tagName === "SELECT" ? parts.words.split("\n").concat("(" + short(field.standing) + ")") : [parts.input.placeholder];
    parts.row.classList.toggle("is-long", Math.max(...words.map((w) => w.length)) > 20);
    parts.shown = value;
    const slider = field.slider;
    parts.slider.hidden = !slider;
    if (slider) {
      const moving = parts.held || document.activeElement === parts.slider;
      if (!moving) {
        parts.slider.dataset.step = slider.step;
        put(parts.slider, { min: slider.least, max: slider.most });
        parts.slider.value = slider.at;
      } else if (parts.slider.dataset.step === slider.step && !waiting.size && Number(parts.slider.value) !== slider.at) {
        if (slider.at >= Number(parts.slider.min) && slider.at <= Number(parts.slider.max)) parts.slider.value = slider.at;
      }
      parts.slider.setAttribute("aria-valuetext", value || field.reading);
    }
    parts.reading.textContent = field.reading;
    const about = [field.hint, field.allowed && "Allowed: " + field.allowed, field.standing && "Left out, it " + field.standing.replace(/^must be given/, "is asked for").replace(/^as for/, "is as for")];
    const told = about.filter(Boolean);
    if (parts.aboutWords !== told.join("\n")) {
      parts.aboutWords = told.join("\n");
      parts.about.replaceChildren(...told.map((w) => el("p", {}, w)));
    }
  }

  function form(answer) {
    if (answer.groups) {
      known.clear();
      for (const group of answer.groups) {
        for (const field of [group.fields, ...group.lists.flatMap((l) => l.rows)].flat()) known.set(field.key, field);
      }
      lay(answer.groups);
      for (const [name, parts] of fields) fill(parts, known.get(name));
    } else {
      // Only what differs is sent; what was typed and not taken goes back to what the file says.
      const differ = new Set(answer.fields.map((field) => field.key));
      for (const field of answer.fields) known.set(field.key, field);
      for (const [name, parts] of fields) {
        const field = known.get(name), active = document.activeElement;
        const typed = active !== parts.input && parts.input.value !== (field.value ?? "");
        if (typed || active === parts.slider || parts.held || differ.has(name)) fill(parts, field);
      }
    }
    wrongs(answer);
  }

  // The form's elements, made anew where it has other fields; a list's own words; where the focus goes then.
  let shape = "", reach = "";
  const lists = new Map();

  function wrongOf(list) {
    const wrong = el("p", { class: "wrong", id: idOf(list.key) + "-wrong" });
    lists.set(list.key, wrong);
    return wrong;
  }

  function lay(groups) {
    const now = groups.map((g) => g.id + g.written + [g.fields, ...g.lists.flatMap((l) => [{ key: l.key }, ...l.rows])].flat().map((f) => f.key + (f.words && f.words.length ? "w" : "")).join("\n")).join("\n");
    if (now !== shape) {
      shape = now;
      const focus = document.activeElement && document.activeElement.id;
      const open = new Set([...document.querySelectorAll("#form > details[open]")].map((d) => d.dataset.group));
      const first = !fields.size;
      fields.clear();
      lists.clear();
      const add = (field) => {
        const parts = makeField(field);
        fields.set(field.key, parts);
        return parts.row;
      };
      $("form").replaceChildren(...groups.map((group) => {
        const usual = ["bow", "string"].includes(group.id) || (group.written && /upper|lower/.test(group.id));
        return el("details", { "data-group": group.id, open: first ? usual : open.has(group.id) },
          el("summary", {}, el("h3", {}, group.title)),
          group.fields.map(add),
          group.lists.map((list) => el("section", { class: "rows", "aria-label": list.title, "data-list": list.key },
            el("h4", {}, list.title), el("p", { class: "key" }, list.hint), wrongOf(list),
            list.open && !list.rows.length ? el("div", { class: "row-tools" }, rowButton(list, null, false)) : null,
            list.rows.map((row, i) => el("div", { class: "row", role: "group", "aria-label": list.one + " " + (i + 1) },
              row.map(add),
              el("div", { class: "row-tools" },
                list.open || i + 1 < list.rows.length ? rowButton(list, i, false) : null,
                list.rows.length > list.fewest ? rowButton(list, i, true) : null))))));
      }));
      const came = reach && [...fields].find(([name]) => name.startsWith(reach));
      const left = reach && document.querySelector('[data-list="' + reach + '"] button');
      reach = "";
      if (came) came[1].input.focus();
      else if (left) left.focus();
      else if (focus && $(focus)) $(focus).focus();
    }
  }

  function rowButton(list, row, take) {
    const words = row === null ? "Put the first " + list.one + " in" : take ? "Take " + list.one + " " + (row + 1) + " away" : "Put one in after " + list.one + " " + (row + 1);
    const id = "row-" + idOf(list.key) + "-" + (row ?? "first") + (take ? "-take" : "");
    const button = el("button", { type: "button", class: "small", id }, words);
    // The row that has come takes the focus; where one has gone, the list has it.
    button.addEventListener("click", () => {
      reach = take ? list.key : list.key + "[" + (row === null ? 0 : row + 1) + "]";
      change("row", { list: list.key, row, take });
    });
    return button;
  }

  function wrongs(answer) {
    const by = new Map();
    for (const fault of answer.faults) if (fault.field) by.set(fault.field, [...(by.get(fault.field) || []), fault]);
    // A fault that another measure led to is told beside the one that was turned, too.
    const turned = fields.get(state.turned);
    if (turned && answer.faults.length && !by.has(state.turned)) {
      const beside = turned.row.closest(".row");
      const seen = beside && [...by.keys()].some((name) => fields.get(name)?.row.closest(".row") === beside);
      if (!seen) by.set(state.turned, [answer.faults[0]]);
    }
    for (const [name, parts] of fields) {
      const faults = by.get(name) || [];
      // Most fields have none, and had none.
      if (!faults.length && !parts.faulty) continue;
      parts.faulty = faults.length > 0;
      const words = faults.map((f) => sentence(f)).join(" ");
      if (parts.wrong.textContent !== words) parts.wrong.textContent = words;
      parts.row.classList.toggle("is-wrong", faults.length > 0);
      parts.input.setAttribute("aria-invalid", faults.length ? "true" : "false");
      if (faults.length) {
        const group = parts.row.closest("#form > details");
        if (group) group.open = true;
      }
    }
    // What is wrong with a list as a whole stands above its rows.
    for (const [name, wrong] of lists) {
      const words = (by.get(name) || []).map((f) => sentence(f)).join(" ");
      if (wrong.textContent === words) continue;
      wrong.textContent = words;
      if (words) wrong.closest("#form > details").open = true;
    }
  }

  function sentence(fault) {
    const dot = (words) => (words ? words.replace(/[.\s]*$/, ". ") : "");
    return ("Wrong: " + dot(fault.what) + dot(fault.why && "Allowed: " + fault.why) + dot(fault.cure && "What helps: " + fault.cure)).trim();
  }

  // ---- numbers and checks

  const rows = new Map();

  function numbers(root, groups) {
    const now = groups.map((g) => g.title + ":" + g.rows.map((r) => r.id)).join("\n");
    if (root.dataset.shape !== now) {
      root.dataset.shape = now;
      root.replaceChildren(...groups.map((group) => el("section", { "aria-label": group.title },
        el("h3", {}, group.title),
        group.rows.map((row) => {
          const parts = { value: el("b", {}), why: el("p", {}) };
          const node = el("details", { class: "number", "data-id": row.id },
            el("summary", {}, el("span", {}, row.label), " ", parts.value), parts.why);
          rows.set(row.id, parts);
          return node;
        }))));
    }
    for (const row of groups.flatMap((g) => g.rows)) {
      const parts = rows.get(row.id);
      if (parts.value.textContent !== row.value) parts.value.textContent = row.value;
      if (parts.why.textContent !== row.why) parts.why.textContent = row.why;
    }
  }

  function findings(loop) {
    const open = new Set([...document.querySelectorAll("#checks details[open]")].map((d) => d.dataset.id));
    $("checks").replaceChildren(el("h3", {}, "Checks"), ...loop.checks.map((check) => el("details",
      { class: "check " + check.verdict, "data-id": check.id, open: open.has(check.id) },
      el("summary", {}, el("strong", {}, check.mark), " ", el("span", {}, check.title)),
      el("ul", {}, check.lines.map(([limb, words]) => el("li", {}, limb && el("span", { class: "limb" }, limb + " "), words))),
      el("p", {}, "Why: " + check.why), el("p", {}, "Source: " + check.source), el("p", {}, "What helps: " + check.cure))));
    const fails = loop.checks.filter((c) => c.verdict === "fails");
    $("verdict").textContent = loop.tally + (fails.length ? ": " + fails.map((c) => c.title).join("; ") : "");
    $("cautions").textContent = loop.cautions;
    numbers($("nock-numbers"), loop.numbers);
    $("findings").classList.remove("is-coming");
    $("findings").removeAttribute("aria-busy");
  }

  $("numbers").append(el("div", { id: "bow-numbers" }), el("div", { id: "nock-numbers" }));

  function faults(answer) {
    const list = (items, head) => items.length
      ? [el("h3", {}, head), el("ul", {}, items.map((f) => el("li", {}, place(f), sentence(f))))] : [];
    const words = JSON.stringify(answer.faults);
    if ($("faults").dataset.words !== words) {
      $("faults").dataset.words = words;
      $("faults").replaceChildren(...list(answer.faults, answer.faults.length === 1 ? "One fault in the design" : answer.faults.length + " faults in the design"));
    }
    const remarks = JSON.stringify(answer.remarks);
    if ($("remarks").dataset.words === remarks && $("places").dataset.words === words) return;
    $("remarks").dataset.words = remarks;
    $("places").dataset.words = words;
    $("remarks").replaceChildren(...(answer.remarks.length ? [el("h3", {}, "Worth a look"),
      el("ul", {}, answer.remarks.map((f) => el("li", {}, place(f), f.what + ". " + f.why + (f.cure ? ". " + f.cure : ""))))] : []));
    $("places").replaceChildren(...answer.faults.filter((f) => f.line).map((f) => {
      const go = el("button", { type: "button", class: "small" }, "Line " + f.line + ", column " + f.column);
      go.addEventListener("click", () => toPlace(f));
      return el("li", {}, go, " " + f.what);
    }));
  }

  function place(fault) {
    if (!fault.line) return null;
    const go = el("button", { type: "button", class: "small" }, "Line " + fault.line + ", column " + fault.column);
    go.addEventListener("click", () => toPlace(fault));
    return [go, " "];
  }

  function toPlace(fault) {
    $("file-details").open = true;
    showText(true);
    const text = $("text");
    text.focus();
    text.setSelectionRange(fault.from, Math.max(fault.to, fault.from));
    const lines = text.value.split("\n").length || 1;
    text.scrollTop = Math.max(0, (fault.line - 4) * text.scrollHeight / lines);
  }

  // ---- all together

  function render(answer) {
    const name = answer.name || "The bench", title = (answer.name ? answer.name + ", " : "") + "Nockwright bench";
    if ($("name").textContent !== name) $("name").textContent = name;
    if (document.title !== title) document.title = title;
    for (const unit of ["inch", "mm"]) if (answer.units) $("units-" + unit).checked = answer.units === unit;
    form(answer);
    faults(answer);
    showText(false);
    $("undo").disabled = !state.undo.length;
    $("redo").disabled = !state.redo.length;
    if (state.saves) $("save").textContent = (state.file === state.started ? "Save to " : "Save over ") + state.started;
    if (answer.figure) {
      state.shown = true;
      figure.stale(false);
      figure.show(answer.figure);
      numbers($("bow-numbers"), answer.figure.numbers);
      $("findings").classList.add("is-coming");
      $("findings").setAttribute("aria-busy", "true");
      $("verdict").textContent = "The loop is being followed; the checks come with it …";
      say(state.text === state.saved ? "" : "Not saved; kept in this browser.");
    } else {
      figure.stale(true);
      $("verdict").textContent = state.shown ? "The design has faults; the checks and figures below are from before."
        : "The design has faults; its figures and checks come once they are mended.";
      say("The design has faults. What you typed is kept.");
    }
  }

  // The text is long; while changes come in fast it is put into its field only when that can be seen.
  function showText(now) {
    const text = $("text");
    if (!(now || $("file-details").open) || document.activeElement === text) return;
    if (text.value !== plain(state.text)) text.value = state.text;
  }
  $("file-details").addEventListener("toggle", () => showText(true));

  // Each step back has its turn, so that what lies before it is there when it comes.
  let steps = 0;
  function back(from, to) {
    steps += 1;
    change("back " + steps, () => {
      const last = from.pop();
      if (last === undefined) return null;
      to.push({ text: state.text, file: state.file });
      state.last = "";
      if (document.activeElement === $("text")) $("text").value = last.text;
      return { text: last.text, file: last.file, back: true };
    });
  }

  $("undo").addEventListener("click", () => back(state.undo, state.redo));
  $("redo").addEventListener("click", () => back(state.redo, state.undo));
  document.addEventListener("keydown", (event) => {
    const typing = event.target.matches && event.target.matches("input[type=text], textarea");
    if (!(event.ctrlKey || event.metaKey) || typing || event.altKey) return;
    const letter = event.key.toLowerCase();
    if (letter === "z" && !event.shiftKey) { event.preventDefault(); back(state.undo, state.redo); }
    if (letter === "y" || (letter === "z" && event.shiftKey)) { event.preventDefault(); back(state.redo, state.undo); }
  });

  for (const unit of ["inch", "mm"]) {
    $("units-" + unit).addEventListener("change", () => change("units", { key: "units", value: unit }));
  }

  // A browser's text field has plain line ends; the file's own are put back.
  function plain(text) {
    return text.replaceAll("\r\n", "\n");
  }

  let textTimer = 0;
  const sendText = () => {
    clearTimeout(textTimer);
    const typed = $("text").value;
    if (typed !== plain(state.text)) change("text", { text: state.text.includes("\r\n") ? typed.replaceAll("\n", "\r\n") : typed });
  };
  $("text").addEventListener("input", () => { clearTimeout(textTimer); textTimer = setTimeout(sendText, 400); });
  $("text").addEventListener("change", sendText);

  // ---- what is kept in this browser: one entry for each page that was left with unsaved work

  const own = crypto.randomUUID();
  const MOST_KEPT = 8;

  function kept() {
    try {
      const list = JSON.parse(localStorage.getItem(KEPT));
      return Array.isArray(list) ? list.filter((k) => k && typeof k.text === "string") : [];
    } catch (error) {
      return [];
    }
  }

  function keepAll(list) {
    try {
      localStorage.setItem(KEPT, JSON.stringify(list.slice(-MOST_KEPT)));
    } catch (error) {
      say("This browser keeps nothing; save or download before you leave.");
    }
  }

  // A moving slider asks for this many times a second; the browser writes it down once it rests, and before the page goes.
  let keeping = 0;
  function keepSoon() {
    if (!keeping) keeping = setTimeout(keep, 250);
  }
  addEventListener("pagehide", () => {
    // What is still being typed goes with it.
    for (const parts of fields.values()) {
      const now = parts.send && known.get(parts.key);
      if (now && parts.input.value !== (now.value ?? "") && parts.input.value) unanswered.set(parts.key, { key: parts.key, value: parts.input.value });
    }
    if (keeping || unanswered.size) keep();
  });

  function keep() {
    clearTimeout(keeping);
    keeping = 0;
    const others = kept().filter((k) => k.own !== own);
    // A text that was typed as a whole takes the place of the one before; other changes are made to it again.
    let text = state.text;
    const after = [];
    for (const [name, set] of unanswered) {
      if (set.text !== undefined) text = set.text;
      else after.push([name, set]);
    }
    const mine = { own, text, after, file: state.file, when: new Date().toLocaleString() };
    keepAll(text === state.saved && !after.length ? others : [...others, mine]);
  }

  function drop(which) {
    keepAll(kept().filter((k) => k.own !== which));
    offer();
  }

  // Work of a page that is still open is not offered to another: each holds a lock by its own name (Web Locks) as long as it lives.
  if (navigator.locks) navigator.locks.request(KEPT + " " + own, () => new Promise(() => {}));

  async function offer() {
    let open = [];
    try {
      if (navigator.locks) open = (await navigator.locks.query()).held.map((lock) => lock.name);
    } catch (error) {
      // Where locks cannot be asked for, all that is kept is offered.
    }
    const left = (k) => k.own !== own && !open.includes(KEPT + " " + k.own);
    const list = kept().filter((k) => left(k) && (k.text !== state.text || (k.after || []).length));
    state.offered = list[list.length - 1] || null;
    $("offer").hidden = !state.offered;
    if (!state.offered) return;
    $("offer-words").textContent = "Unsaved work on " + state.offered.file + " from " + state.offered.when + " is kept in this browser.";
  }

  // What was kept goes only when the program has taken it.
  $("offer-take").addEventListener("click", () => {
    const { text, file, after = [], own: taken } = state.offered;
    const last = after.length - 1;
    change("taken up", { text, file, taken: last < 0 ? taken : undefined });
    after.forEach(([name, set], i) => change(name, i === last ? { ...set, taken } : set));
    $("keep").focus();
  });
  $("offer-leave").addEventListener("click", () => {
    drop(state.offered.own);
    $("keep").focus();
  });

  // ---- files

  function isSaved(words) {
    state.saved = state.text;
    keep();
    say(words);
  }

  function hand(name, blob) {
    const address = URL.createObjectURL(blob);
    const link = el("a", { href: address, download: name }, name);
    setTimeout(() => URL.revokeObjectURL(address), 600000);
    return link;
  }

  // Whether the text is all that was typed; where it is not, and that is known, a second press goes on without the rest.
  let told = 0;
  async function whole() {
    if (await settledDown() || told === unanswered.size) return true;
    told = unanswered.size;
    say("The last change has not been answered and stands in no file yet; it is kept in this browser. Press again to go on without it.");
    return false;
  }

  // What a second press on Save is to do that the first one asked about.
  let asking = "";

  $("save").addEventListener("click", async () => {
    if (!(await whole())) return;
    const text = state.text, other = state.file !== state.started && asking !== "other";
    if (other) {
      asking = "other";
      return say(state.file + " is open here. Press Save again to put it in the place of " + state.started + "; Download keeps it apart.");
    }
    const over = asking === "changed";
    try {
      const { saved, said } = await ask("/save", { text, before: state.there, over });
      asking = saved ? "" : "changed";
      if (saved) {
        state.file = state.started;
        state.there = text;
        render(state.answer);
      }
      if (saved && text === state.text) isSaved(said);
      else say(said);
    } catch (error) {
      failed(error);
    }
  });

  $("keep").addEventListener("click", async () => {
    if (!(await whole())) return;
    hand(state.file, new Blob([state.text], { type: "text/plain" })).click();
    isSaved("Downloaded as " + state.file + ".");
  });

  function drawer(button, panel) {
    button.addEventListener("click", () => {
      panel.hidden = !panel.hidden;
      button.setAttribute("aria-expanded", String(!panel.hidden));
    });
  }
  drawer($("files-button"), $("files"));
  drawer($("sheets-button"), $("sheets"));

  $("open").addEventListener("change", async () => {
    const file = $("open").files[0];
    if (!file) return;
    const text = await file.text();
    // The same file may be opened once more.
    $("open").value = "";
    if (file.size > 1 << 20) return say(file.name + " is too long for a design file.");
    change("opened", { text, file: file.name });
    say("Opened " + file.name + ".");
  });

  $("recover").addEventListener("change", async () => {
    const file = $("recover").files[0];
    if (!file) return;
    $("recovered").textContent = "Reading " + file.name + " …";
    try {
      const found = await ask("/recover", file);
      if (found.refused) return void ($("recovered").textContent = found.refused);
      $("recovered").replaceChildren(...found.designs.map((design) => {
        // A picture's code holds the design without its file's name.
        const file = design.name || "design.toml";
        const take = el("button", { type: "button" }, "Take up " + (design.name || "the design"));
        take.addEventListener("click", () => change("recovered", { text: design.text, file }));
        return el("p", {}, take, design.whole ? "" : " keys and values only; its comments had no room in the code");
      }));
    } catch (error) {
      $("recovered").textContent = "";
      failed(error);
    }
  });

  async function made(path, more, types) {
    $("made").replaceChildren(el("li", {}, "Making …"));
    $("sheets-refused").hidden = true;
    if (!(await whole())) return $("made").replaceChildren();
    try {
      const answer = await ask(path, { text: state.text, ...more });
      $("sheets-refused").hidden = !answer.refused;
      $("sheets-refused").textContent = answer.refused;
      const links = answer.files.map((file) => {
        const bytes = Uint8Array.from(atob(file.bytes), (c) => c.charCodeAt(0));
        return hand(file.name, new Blob([bytes], { type: types }));
      });
      $("made").replaceChildren(...links.map((link) => el("li", {}, link)), ...answer.remarks.map((words) => el("li", {}, "Note: " + words)));
      if (links.length === 1) links[0].click();
      else if (links.length) links[0].focus();
    } catch (error) {
      $("made").replaceChildren();
      failed(error);
    }
  }

  const TYPES = { pdf: "application/pdf", svg: "image/svg+xml", dxf: "application/dxf" };
  $("print").addEventListener("click", () => made("/sheets", { paper: $("paper").value, format: "pdf" }, TYPES.pdf));
  $("make").addEventListener("click", () =>
    made("/sheets", { paper: $("paper").value, format: $("format").value }, TYPES[$("format").value] || ""));
  $("mail").addEventListener("click", () => made("/report", {}, "text/html"));

  // ---- start

  ask("/start", {}).then((start) => {
    state.text = state.saved = state.there = start.text;
    state.file = state.started = start.file_name;
    state.saves = start.saves;
    $("save").hidden = !start.saves;
    $("paper").replaceChildren(...start.papers.map((p) => el("option", { value: p }, p)));
    $("format").replaceChildren(...start.formats.filter(([name]) => name !== "pdf").map(([name, about]) => el("option", { value: name }, name.toUpperCase() + ": " + about)));
    offer();
    change("text", { text: start.text });
  }).catch(failed);
})();
