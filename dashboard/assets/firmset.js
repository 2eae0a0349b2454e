/* The address is in charge: filters write it, it fills the filters, links and chart
   points move it without a reload. Kept in a file: the content policy allows no
   inline script. */
(function () {
  "use strict";

  const LISTS = ["sites", "crews", "sizes"];

  function read(search, known) {
    const given = {};
    for (const pair of search.replace(/^\?/, "").split("&")) {
      const at = pair.indexOf("=");
      if (at < 1) continue;
      given[decode(pair.slice(0, at))] = pair
        .slice(at + 1)
        .split(",")
        .map(decode)
        .filter((value) => value !== "");
    }
    const among = (name) => {
      const found = (given[name] || []).flatMap((value) =>
        known[name].includes(value) ? [value] : value.split(","));
      return [...new Set(found.filter((value) => known[name].includes(value)))];
    };
    return {
      from: day(given.from),
      to: day(given.to),
      sites: among("sites"),
      crews: among("crews"),
      sizes: among("sizes"),
      check: among("check")[0] || null,
      budget: (given.budget || [])[0] || null,
    };
  }

  function decode(text) {
    try {
      return decodeURIComponent(text.replace(/\+/g, " ")).trim();
    } catch (error) {
      return text;
    }
  }

  function day(values) {
    const text = (values || [])[0] || "";
    return /^\d{4}-\d{2}-\d{2}$/.test(text) && !isNaN(Date.parse(text)) ? text : null;
  }

  /* As format_search of dashboard/address.py. */
  function write(view) {
    const parts = [];
    for (const name of ["from", "to", "sites", "crews", "sizes", "check", "budget"]) {
      const values = [].concat(view[name] || []);
      if (values.length) {
        parts.push(name + "=" + values.map(encodeURIComponent).join(","));
      }
    }
    return parts.length ? "?" + parts.join("&") : "";
  }

  /* What Drilling, Records and Intake are asked, and from where a list goes on: ASKED
     and PLACES of dashboard/address.py. */
  const ASKED = ["size", "embedment", "at", "method", "orientation", "vibration", "shift",
    "verdict", "outcome", "id", "begins", "wrench", "order", "upload", "map"];
  const PLACES = ["after", "before"];

  function asked(search) {
    return search.replace(/^\?/, "").split("&").filter(
      (pair) => ASKED.includes(pair.slice(0, pair.indexOf("="))));
  }

  /* What no filter changes: CARRIED of dashboard/wish.py. */
  const CARRIED = ["edition", "units", "lang"];

  function carried(search) {
    return search.replace(/^\?/, "").split("&").filter(
      (pair) => CARRIED.includes(pair.slice(0, pair.indexOf("="))));
  }

  /* All but what is asked of a page alone, and where its list was left. */
  function kept(search) {
    const own = [...ASKED, ...PLACES];
    return search.replace(/^\?/, "").split("&").filter(
      (pair) => pair && !own.includes(pair.slice(0, pair.indexOf("="))));
  }

  /* A length as typed, for the address: plain numbers there are mm, inches say so. */
  function length(item, search) {
    const inch = (search || "").replace(/^\?/, "").split("&").includes("units=inch");
    if (/mm$/.test(item)) return item.replace(/mm$/, "");
    return inch && /^[\d.]+$/.test(item) ? item + "in" : item;
  }

  function join(search, pairs) {
    if (!pairs.length) return search;
    return search + (search.includes("?") ? "&" : "?") + pairs.join("&");
  }

  function go(href) {
    window.history.pushState({}, "", href);
    window.dispatchEvent(new CustomEvent("_dashprivate_pushstate"));
  }

  let shownPath = null;
  let jumpedTo = null;

  /* Go to the part that an address names. What is weighed later moves it, so it is gone
     to again until all has come or the reader takes over. */
  function jump() {
    const name = window.location.hash.slice(1);
    if (jumpedTo === window.location.href) return;
    jumpedTo = window.location.href;
    if (!name) return;
    let left = 50;
    const stop = () => { left = 0; };
    for (const kind of ["wheel", "touchstart", "keydown", "mousedown", "popstate"]) {
      window.addEventListener(kind, stop, { once: true, passive: true });
    }
    const timer = setInterval(function () {
      const place = left > 0 && document.getElementById(decode(name));
      if (place) place.scrollIntoView();
      left -= 1;
      if (left <= 0) clearInterval(timer);
    }, 100);
  }

  const firmset = {
    sync: function (search, from, to, sites, crews, sizes, check, known) {
      const none = window.dash_clientside.no_update;
      const triggered = window.dash_clientside.callback_context.triggered || [];
      const shown = read(search || "", known);
      const filtered = triggered.length > 0 &&
        triggered.every((one) => one.prop_id.startsWith("filter-"));
      if (filtered) {
        const budget = shown.budget;
        const wanted = write({ from, to, sites, crews, sizes, check, budget });
        const same = wanted === write(shown);
        return [same ? none : join(wanted, [...asked(search || ""), ...carried(search || "")]), none, none, none, none, none, none];
      }
      const now = { from, to, sites, crews, sizes, check };
      const fill = (name) => {
        const empty = LISTS.includes(name) ? [] : null;
        const old = JSON.stringify(now[name] || empty);
        return old === JSON.stringify(shown[name]) ? none : shown[name];
      };
      return [none, fill("from"), fill("to"), fill("sites"), fill("crews"),
        fill("sizes"), fill("check")];
    },

    /* A filter that a page does not read can be seen there, and not be set. */
    apply: function (pathname, applies) {
      const path = (pathname || "").replace(/\/+$/, "") || "/sites";
      const page = applies[path] || applies[""];
      return [...page.disabled, page.check];
    },

    /* A control of Drilling or Records writes the address; an empty one stands for what
       its placeholder says. Another size leaves its embedments behind, another list the
       place where it was left. */
    ask: function (values, ids, search) {
      const none = window.dash_clientside.no_update;
      const context = window.dash_clientside.callback_context;
      const triggered = (context.triggered || []).map((one) => one.prop_id);
      const sized = triggered.length === 1 && triggered[0].includes('"size"');
      const pairs = [];
      ids.forEach(function (id, at) {
        const value = values[at];
        if (value === null || value === undefined || value === "") return;
        const items = id.name === "embedment" ? String(value).split(/[,;\s]+/) : [value];
        const kept = items.filter(Boolean).map(
          (item) => encodeURIComponent(id.name === "embedment" ? length(item, search) : item));
        if (kept.length) pairs.push(id.name + "=" + kept.join(","));
      });
      const before = asked(search || "");
      if (before.join("&") === pairs.join("&")) return none;
      const size = (list) => list.find((pair) => pair.startsWith("size="));
      const wanted = sized && size(before) !== size(pairs)
        ? pairs.filter((pair) => !pair.startsWith("embedment=")) : pairs;
      const others = (search || "").replace(/^\?/, "").split("&").filter(
        (pair) => pair && !before.includes(pair) &&
          !PLACES.includes(pair.slice(0, pair.indexOf("="))));
      return join(others.length ? "?" + others.join("&") : "", wanted) || "?";
    },

    toggle_filters: function () {
      const open = !document.getElementById("filters").classList.contains("is-open");
      return [open ? "filters is-open" : "filters", String(open)];
    },

    /* On a narrow screen the filters are folded away: their button says how many are
       set, as nobody else would. */
    name_filters: function (search, known) {
      const shown = read(search || "", known);
      const set = ["from", "to", "sites", "crews", "sizes", "check"].filter(
        (name) => [].concat(shown[name] || []).length);
      return set.length ? "Filters: " + set.length + " set" : "Filters";
    },

    open_point: function () {
      for (const one of window.dash_clientside.callback_context.triggered || []) {
        const points = (one.value && one.value.points) || [];
        const href = points.length && points[0].customdata;
        if (typeof href === "string" && href.startsWith("/")) go(href);
      }
    },

    /* Name the window after the page, say its sentence to screen readers, and on
       another page start at its top. */
    announce: function (children, pathname) {
      const told = { text: "" };
      window.setTimeout(function () {
        const heading = document.querySelector("#page h1");
        if (!heading) return;
        document.title = heading.textContent + " · firmset";
        const path = shownAt(pathname);
        if (shownPath !== null && shownPath !== path) {
          window.scrollTo(0, 0);
          heading.focus({ preventScroll: true });
        }
        shownPath = path;
        jump();
        const lead = document.querySelector("#page .lead");
        const said = document.getElementById("said");
        // What is weighed later speaks for itself once it is there.
        const lines = lead ? [...lead.querySelectorAll(":scope > p")] : [];
        if (said) said.textContent = lines.map((line) => line.textContent).join(" ");
      }, 0);
      return told.text;
    },
  };

  window.dash_clientside = Object.assign({}, window.dash_clientside, { firmset });

  /* Tables arrive as one attribute (dashboard/parts.py) and are drawn here. Text goes
     in as text, never as markup. */
  function element(name, text, className) {
    const made = document.createElement(name);
    if (text) made.textContent = text;
    if (className) made.className = className;
    return made;
  }

  function fill(into, cell) {
    if (typeof cell === "string") {
      into.textContent = cell;
      return;
    }
    let holder = into;
    if (cell.href && cell.href.startsWith("/")) {
      holder = into.appendChild(element("a"));
      holder.setAttribute("href", cell.href);
    }
    holder.appendChild(element("span", cell.text, "value"));
    if (cell.small) holder.appendChild(element("small", cell.small));
    if (cell.full) into.title = cell.full;
    if (cell.look) into.classList.add(...cell.look.split(" "));
  }

  function draw(box) {
    const source = box.getAttribute("data-table");
    if (box.drawnFrom === source) return;
    box.drawnFrom = source;
    const content = JSON.parse(source);
    const table = element("table");
    table.appendChild(element("caption", content.caption));
    const head = table.appendChild(element("thead")).appendChild(element("tr"));
    const body = table.appendChild(element("tbody"));
    const heads = content.heads.map(function (text, at) {
      const place = head.appendChild(element("th", "", content.looks[at]));
      place.scope = "col";
      return place;
    });
    // A page of a longer list has its order from the server; the rows of a turned table
    // are of different things.
    const may = content.rows.length > 2 &&
      !["records", "turned"].some((look) => box.classList.contains(look));
    heads.forEach(function (place, at) {
      const text = content.heads[at];
      if (!may || !text) return void (place.textContent = text);
      const button = place.appendChild(element("button", text, "order"));
      button.type = "button";
      // One stop of the Tab key a table, arrows from head to head.
      button.tabIndex = head.querySelector(".order") === button ? 0 : -1;
      button.addEventListener("click", function () {
        keepOrder(content, at);
        rows(body, heads, content);
      });
    });
    head.addEventListener("keydown", alongHeads);
    rows(body, heads, content);
    box.replaceChildren(table);
  }

  function alongHeads(event) {
    const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    const all = [...event.currentTarget.querySelectorAll(".order")];
    const next = step && all[all.indexOf(event.target) + step];
    if (!next) return;
    event.preventDefault();
    event.target.tabIndex = -1;
    next.tabIndex = 0;
    next.focus();
  }

  /* The rows of a table in the order that the address says, else as they came. */
  function rows(body, heads, content) {
    const order = orderOf(content);
    heads.forEach(function (place, at) {
      if (order && order.at === at) {
        place.setAttribute("aria-sort", order.down ? "descending" : "ascending");
      } else {
        place.removeAttribute("aria-sort");
      }
    });
    body.replaceChildren();
    for (const row of order ? ordered(content, order) : content.rows) {
      const line = body.appendChild(element("tr"));
      row.forEach(function (cell, at) {
        const place = line.appendChild(element(at ? "td" : "th", "", content.looks[at]));
        if (!at) place.scope = "row";
        place.dataset.head = content.heads[at];
        fill(place, cell);
      });
    }
  }

  /* What has no number, or nothing, stands last either way; the like stay as they came. */
  function ordered(content, order) {
    const isNumber = content.looks[order.at] === "number";
    const sign = order.down ? -1 : 1;
    const keyed = content.rows.map((row) => [key(row[order.at], isNumber), row]);
    const known = keyed.filter(([value]) => value !== null);
    known.sort(([one], [other]) => sign * (isNumber ? one - other
      : one.localeCompare(other, undefined, { numeric: true })));
    return [...known, ...keyed.filter(([value]) => value === null)].map(([, row]) => row);
  }

  function key(cell, isNumber) {
    const text = (typeof cell === "string" ? cell : cell.text || "").trim();
    if (!isNumber) return text || null;
    const found = text.replace(/\s/g, "").replace("\u2212", "-").match(/-?\d+(?:[.,]\d+)?/);
    return found ? parseFloat(found[0].replace(",", ".")) : null;
  }

  /* The order of a table is part of the address: sort=its-name.column.down. */
  function nameOf(content) {
    return content.caption.toLowerCase().replace(/[^\p{L}\p{N}]+/gu, "-").slice(0, 60);
  }

  function orderOf(content) {
    const given = new URLSearchParams(window.location.search).get("sort") || "";
    const [name, column, way] = given.split(".");
    const at = parseInt(column, 10) - 1;
    if (name !== nameOf(content) || !(at in content.heads)) return null;
    return { at: at, down: way === "down" };
  }

  /* Numbers begin with the largest, words with the first; the third time it is as it was. */
  function keepOrder(content, at) {
    const before = orderOf(content);
    const first = content.looks[at] === "number";
    const again = before && before.at === at;
    const pairs = window.location.search.replace(/^\?/, "").split("&").filter(
      (pair) => pair && !pair.startsWith("sort="));
    if (!again || before.down === first) {
      const way = (again ? !first : first) ? "down" : "up";
      pairs.push("sort=" + encodeURIComponent([nameOf(content), at + 1, way].join(".")));
    }
    window.history.replaceState(window.history.state, "",
      window.location.pathname + join("", pairs) + window.location.hash);
  }

  /* A form that sends one file, or a text as a file, as the body of a request, and then
     goes where the answer says (dashboard/uploads/). The words of a refusal are shown
     beside it. */
  const SENDING = "[data-file], [data-text]";

  function drawSendForm(box) {
    const source = box.getAttribute("data-file") || box.getAttribute("data-text");
    if (box.formFrom === source) return;
    box.formFrom = source;
    const content = JSON.parse(source);
    const form = element("form");
    const file = content.accept ? fileField(form, content) : textField(form, content);
    const button = form.appendChild(element("button", content.button, "choose"));
    const said = form.appendChild(element("div", "", "said"));
    said.setAttribute("role", "status");
    const say = (lines) => said.replaceChildren(...lines.map((line) => element("p", line)));
    form.addEventListener("submit", function (event) {
      event.preventDefault();
      const chosen = file();
      if (!chosen) return say(["Choose " + (content.accept ? "a file" : "one") + " first."]);
      if (chosen.size > content.most) {
        return say([chosen.name + ": is over " + content.most / 1048576 +
          " MB, the most that is taken here."]);
      }
      button.disabled = true;
      say([chosen.name + " is being sent …"]);
      send(content.post, chosen).then(function (answer) {
        say(answer.problems || []);
        if (!answer.address) return;
        focusNext = content.then;
        go(join(answer.address, kept(window.location.search)));
      }).finally(function () { button.disabled = false; });
    });
    box.replaceChildren(form);
  }

  function labelled(form, field, id, text) {
    form.appendChild(element("label", text)).htmlFor = field.id = id;
    return form.appendChild(field);
  }

  function fileField(form, content) {
    const field = labelled(form, element("input"), "file-" + content.name, content.label);
    field.type = "file";
    field.accept = content.accept;
    return () => field.files[0];
  }

  /* The text is given, or that of one of several, which is fetched once it is chosen. */
  function textField(form, content) {
    const id = "text-" + content.name;
    let name = content.file;
    let chooser = null;
    if (content.texts.length) {
      chooser = labelled(form, element("select"), id + "-of", "Site map");
      chooser.append(new Option("Choose one", ""),
        ...content.texts.map((one) => new Option(one.label, one.href)));
    }
    const field = labelled(form, element("textarea"), id, content.label);
    field.rows = 20;
    field.spellcheck = false;
    field.value = content.text;
    if (chooser) {
      chooser.addEventListener("change", async function () {
        const one = content.texts[chooser.selectedIndex - 1];
        name = field.value = "";
        const given = one && await text(one.href);
        // Another may have been chosen meanwhile: a text goes with its own name only.
        if (!one || chooser.value !== one.href) return;
        field.value = given.text;
        name = given.ok ? one.file : "";
      });
    }
    return () => name && new File([field.value], name);
  }

  async function text(href) {
    try {
      const answer = await fetch(href);
      if (answer.ok) return { ok: true, text: await answer.text() };
      return { ok: false, text: "# Not there any more: load the page again." };
    } catch (error) {
      return { ok: false, text: "# The server does not answer: " + error.message };
    }
  }

  /* The page is drawn anew after a file was sent, and the pressed button goes with a
     step: the keyboard goes on where the outcome is told. */
  let focusNext = "";

  function focusSent(node) {
    const place = focusNext && node.querySelector("#" + focusNext);
    if (!place) return;
    focusNext = "";
    place.focus();
  }

  document.addEventListener("click", function (event) {
    const pressed = event.target.closest && event.target.closest("#upload-panel button");
    if (pressed) document.getElementById("upload-panel").focus({ preventScroll: true });
  });

  /* A link that leads to the same page is drawn anew with it: the one with the same
     words gets the keyboard back and stays where it stood on the screen, while what is
     above it arrives. Until the reader does something else, or all has come. */
  const FOLLOWED_MS = 8000;
  let pressedLink = null;

  const linksAlike = (text) => [...document.querySelectorAll("a[href]")]
    .filter((link) => link.textContent === text);

  // The first page is Sites.
  const shownAt = (pathname) => (pathname === "/" ? "/sites" : pathname);

  function press(anchor) {
    const to = new URL(anchor.href);
    pressedLink = null;
    if (shownAt(to.pathname) !== shownAt(window.location.pathname) || to.hash) return;
    const text = anchor.textContent;
    pressedLink = {
      text, place: linksAlike(text).indexOf(anchor), since: Date.now(),
      top: anchor.getBoundingClientRect().top,
    };
  }

  function followPressed() {
    if (!pressedLink) return;
    const alike = linksAlike(pressedLink.text);
    const link = alike[pressedLink.place] || alike[0];
    if (!link) return;
    if (document.activeElement === document.body) link.focus({ preventScroll: true });
    window.scrollBy(0, link.getBoundingClientRect().top - pressedLink.top);
    if (Date.now() - pressedLink.since > FOLLOWED_MS) pressedLink = null;
  }

  for (const kind of ["keydown", "pointerdown", "wheel", "popstate"]) {
    window.addEventListener(kind, () => { pressedLink = null; },
      { capture: true, passive: true });
  }

  async function send(post, file) {
    const name = "name=" + encodeURIComponent(file.name);
    try {
      const answer = await fetch(post + (post.includes("?") ? "&" : "?") + name, {
        method: "POST", body: file, headers: { "Content-Type": "application/octet-stream" },
      });
      if ((answer.headers.get("Content-Type") || "").includes("json")) return answer.json();
      return { problems: ["The server answered " + answer.status + "; try again."] };
    } catch (error) {
      return { problems: ["The file was not sent: " + error.message + "."] };
    }
  }

  /* The upload's own file input is out of sight and nameless: screen readers get to
     its button, and find the input named alike. */
  function nameUpload(node) {
    const field = node.matches("input[type=file]") ? node
      : node.querySelector(".upload input[type=file]");
    if (field) field.setAttribute("aria-label", "List of anchors (CSV)");
  }

  new MutationObserver(function (changes) {
    for (const change of changes) {
      if (change.type === "attributes") draw(change.target);
      for (const node of change.addedNodes) {
        if (node.nodeType !== 1) continue;
        if (node.hasAttribute("data-table")) draw(node);
        if (node.matches(SENDING)) drawSendForm(node);
        nameUpload(node);
        node.querySelectorAll("[data-table]").forEach(draw);
        node.querySelectorAll(SENDING).forEach(drawSendForm);
        focusSent(node);
      }
    }
    followPressed();
  }).observe(document.documentElement, {
    subtree: true, childList: true, attributes: true, attributeFilter: ["data-table"],
  });

  /* Paper has no address bar, and charts do not follow it by themselves: they get the
     width of an upright sheet (A4 or Letter, whichever is narrower; panels two abreast)
     and their own back afterwards. */
  const SHEET_PX = 690;
  const PANEL_PX = 330;

  window.addEventListener("beforeprint", function () {
    const place = document.getElementById("printed-address");
    /* Of this edition: the next one may answer otherwise. */
    const pin = document.querySelector(".standing a[data-pin]");
    if (place) place.textContent = pin ? pin.href : window.location.href;
    for (const chart of document.querySelectorAll(".js-plotly-plot")) {
      const most = chart.closest(".panel") ? PANEL_PX : SHEET_PX;
      window.Plotly.relayout(chart, { width: most, autosize: false });
    }
  });

  window.addEventListener("afterprint", function () {
    for (const chart of document.querySelectorAll(".js-plotly-plot")) {
      window.Plotly.relayout(chart, { width: null, autosize: true });
    }
  });

  /* Where the server does not answer, the page shown belongs to another address: say
     so, until it answers again. */
  const ask = window.fetch;
  window.fetch = async function (what, options) {
    const address = String((what && what.url) || what);
    if (!address.includes("_dash-update-component")) return ask(what, options);
    try {
      const answer = await ask(what, options);
      trouble(answer.status < 500 ? "" : "The server failed (" + answer.status + ").");
      return answer;
    } catch (error) {
      if (error.name !== "AbortError") trouble("The server does not answer.");
      throw error;
    }
  };

  function trouble(text) {
    const place = document.getElementById("trouble");
    if (!place) return;
    place.textContent = text && text + " What is shown may be of the address before.";
    if (text) {
      const again = place.appendChild(element("a", "Load the page again"));
      again.setAttribute("href", window.location.href);
    }
  }

  /* The field of a date reads 05.06.2026 as the sixth of May, which nobody means who
     writes dots: it is given the date as the address has it. */
  document.addEventListener("input", function (event) {
    const field = event.target;
    if (!/^filter-(from|to)$/.test(field.id)) return;
    const said = /^(\d{1,2})\.(\d{1,2})\.(\d{4})$/.exec(field.value.trim());
    if (!said) return;
    const iso = [said[3], said[2].padStart(2, "0"), said[1].padStart(2, "0")].join("-");
    Object.getOwnPropertyDescriptor(HTMLInputElement.prototype, "value").set.call(field, iso);
  }, true);

  document.addEventListener("click", function (event) {
    if (event.defaultPrevented || event.button !== 0 || event.metaKey ||
        event.ctrlKey || event.shiftKey || event.altKey) return;
    const anchor = event.target.closest && event.target.closest("a[href]");
    if (!anchor || anchor.hasAttribute("download") || anchor.target) return;
    const href = anchor.getAttribute("href");
    if (!href.startsWith("/") || /^\/(csv|xlsx|pdf)\/|\.toml$/.test(href)) return;
    event.preventDefault();
    press(anchor);
    // The wordmark stands outside the page: it leads where the link to Sites does.
    const home = document.querySelector('#navigation a[href^="/sites"]');
    go(anchor.matches(".wordmark") && home ? home.getAttribute("href") : href);
  });
})();
