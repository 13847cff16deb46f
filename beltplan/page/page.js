"use strict";
(() => {
  const body = document.body, all = (query) => [...document.querySelectorAll(query)];
  const routing = document.getElementById("routing"), slider = document.getElementById("setting");
  body.classList.add("live");
  for (const fold of all("details.fold")) fold.open = false;

  // A pulley, span or finding is touched: all that belongs to it lights up, and the cards of its pulleys open.
  const partsOf = (each) => each.dataset.parts ? JSON.parse(each.dataset.parts) : [each.dataset.part];
  const marked = all("[data-part], [data-parts]");
  let chosen = "";
  const choose = (names) => {
    chosen = chosen === names.join("\n") ? "" : names.join("\n");
    for (const each of marked) each.classList.toggle("lit", chosen !== "" && partsOf(each).some((name) => names.includes(name)));
  };
  for (const each of marked.filter((each) => !each.classList.contains("pulley") && partsOf(each).length)) {
    each.addEventListener("click", (event) => event.target.closest("a") || choose(partsOf(each)));
    if (!each.id && !each.dataset.parts) continue;
    each.setAttribute("tabindex", "0");
    if (each.id) each.setAttribute("role", "button");
    each.addEventListener("keydown", (event) => {
      if (event.target !== each || (event.key !== "Enter" && event.key !== " ")) return;
      event.preventDefault();
      choose(partsOf(each));
    });
  }
  document.addEventListener("keydown", (event) => event.key === "Escape" && choose(chosen.split("\n")));

  // Switches.
  const show = (units) => {
    body.classList.remove("mm", "in");
    body.classList.add(units);
    for (const each of all("[data-units]")) each.setAttribute("aria-pressed", String(each.dataset.units === units));
  };
  for (const each of all("[data-units]")) each.addEventListener("click", () => show(each.dataset.units));
  show(body.classList.contains("in") ? "in" : "mm");
  const layers = {dimensions: ".dimensions", obstacles: "[data-kind=obstacle]"};
  for (const each of all("[data-layer]")) each.addEventListener("change", () => {
    for (const layer of routing.querySelectorAll(layers[each.dataset.layer])) layer.style.display = each.checked ? "" : "none";
  });

  // The adjuster: every setting was laid beforehand.
  if (!slider) return;
  const settings = JSON.parse(document.getElementById("settings").textContent);
  const output = document.getElementById("at-setting"), carried = [...routing.children, ...routing.querySelectorAll(".numbers > g")]
    .filter((each) => each.dataset.part === routing.dataset.moving);
  const set = (d, id) => document.getElementById(id).setAttribute("d", d);
  slider.addEventListener("input", () => {
    const at = settings[Number(slider.value)];
    routing.classList.toggle("shifted", !at.judged);
    set(at.belt, "moved");
    set(at.arm, "moved-arm");
    at.spans.forEach((d, number) => document.querySelectorAll(`#span-${number + 1} path`).forEach((path) => path.setAttribute("d", d)));
    for (const each of carried) each.setAttribute("transform", `translate(${at.by.join(" ")})`);
    output.replaceChildren(...["mm", "in"].map((units) => {
      const words = document.createElement("span");
      words.className = units;
      words.textContent = at[units];
      return words;
    }));
    slider.setAttribute("aria-valuetext", at[body.classList.contains("in") ? "in" : "mm"]);
  });
})();
