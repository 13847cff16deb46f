// Touches everything in a page, and tells the frame round it what came of that.
const told = {};
const one = (query) => document.querySelector(query), all = (query) => [...document.querySelectorAll(query)];
const seen = (each) => getComputedStyle(each).display !== "none" && each.getClientRects().length > 0;
const open = () => all("article.pulley").filter(seen).map((each) => each.dataset.part);
const touch = (each) => each.dispatchEvent(new MouseEvent("click", {bubbles: true}));

told.width = document.documentElement.scrollWidth;
told.smallest = Math.min(...all("svg text").filter(seen).map((each) => {
  const svg = each.ownerSVGElement;
  return each.getAttribute("font-size") * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
}));
const tables = all(".wide").filter(seen), wide = document.documentElement.clientWidth;
told.cut = tables.filter((each) => each.scrollWidth > each.clientWidth).map((each) => each.innerText);
told.hidden = tables.filter((each) => each.querySelector("tbody th ~ td").getBoundingClientRect().right > wide)
  .map((each) => each.innerText);
told.folded = all("details.fold").map((each) => each.open);
told.before = open();
touch(one("#pulley-1"));
told.touched = open();
told.lit = all("li.lit").length;
touch(one("#pulley-1"));
told.again = open();
const finding = all("li.finding").find((each) => JSON.parse(each.dataset.parts).length);
if (finding) {
  touch(finding);
  told.parts = JSON.parse(finding.dataset.parts);
  told.marked = all("svg g.lit[id]").map((each) => each.dataset.part);
}

const slider = one("#setting");
if (slider) {
  const carried = all("svg > g[id]").find((each) => each.dataset.part === one("#routing").dataset.moving);
  const from = carried.getBoundingClientRect();
  told.shown = seen(one("#moved"));
  slider.value = slider.max;
  slider.dispatchEvent(new Event("input", {bubbles: true}));
  const to = carried.getBoundingClientRect();
  told.moved = Math.hypot(to.x - from.x, to.y - from.y);
  told.now = seen(one("#moved"));
  told.belt = one("#moved").getTotalLength();
  told.words = one("#at-setting").innerText;
  told.last = JSON.parse(one("#settings").textContent).at(-1);
}

touch(one("[data-units=in]"));
told.mm = all(".mm").filter(seen).length;
told.heads = all("th").filter(seen).map((each) => each.innerText);
const box = one("[data-layer=obstacles]");
box.checked = false;
box.dispatchEvent(new Event("change"));
told.obstacles = all("#routing [data-kind=obstacle]").filter(seen).length;
told.requests = performance.getEntriesByType("resource").map((each) => each.name);
told.title = document.title;
parent.postMessage(JSON.stringify(told), "*");
