// Without this the page is a list. One screen at a time; the steps of a unit come round as often as
// it is worked; the place is remembered by the mark of the text.
(function () {
  var pages = document.querySelector(".screens"), key = "ringstep follow " + pages.dataset.mark;
  var screens = Array.prototype.slice.call(pages.querySelectorAll(".screen"));
  var at = 0, turn = 0, bar = document.createElement("nav"), place = document.createElement("p");
  function times(n) { return +screens[n].dataset.times || 1; }
  function section(n) { return screens[n].dataset.section || "alone " + n; }
  function ends(n, by) { return !screens[n + by] || section(n + by) !== section(n); }
  function first(n) { while (!ends(n, -1)) n -= 1; return n; }
  function last(n) { while (!ends(n, 1)) n += 1; return n; }
  function keep() { try { localStorage.setItem(key, at + " " + turn); } catch (e) {} }
  function words() {
    var own = screens[at].dataset, told = "";
    if (times(at) > 1) {
      told = own.what + " " + (+own.first + turn) + " of " + (+own.first + times(at) - 1);
      if (own.sides) told += ", from the " + (own.sides[turn] === "F" ? "front" : "back");
    }
    return told;
  }
  function show(moved) {
    screens.forEach(function (s, n) { s.hidden = n !== at; });
    place.textContent = words();
    back.disabled = at === 0;
    next.disabled = at === screens.length - 1 && turn === times(at) - 1;
    keep();
    if (!moved) return;
    window.scrollTo(0, 0);
    var title = screens[at].querySelector("h1, h2, h3");
    if (title) { title.tabIndex = -1; title.focus({ preventScroll: true }); }
  }
  function go(by) {
    if (by > 0 && ends(at, 1) && turn < times(at) - 1) { turn += 1; at = first(at); }
    else if (by < 0 && ends(at, -1) && turn > 0) { turn -= 1; at = last(at); }
    else if (screens[at + by]) {
      var left = ends(at, by);
      at += by;
      if (left) turn = by > 0 ? 0 : times(at) - 1;
    }
    show(true);
  }
  function button(word, act, kind) {
    var made = document.createElement("button");
    made.type = "button"; made.textContent = word; made.className = kind;
    made.addEventListener("click", act); bar.appendChild(made);
    return made;
  }
  bar.setAttribute("aria-label", "steps");
  place.setAttribute("aria-live", "polite");
  var back = button("Back", function () { go(-1); }, "back");
  bar.appendChild(place);
  var next = button("Next", function () { go(1); }, "next");
  button("From the beginning", function () { at = turn = 0; show(true); }, "again");
  pages.parentNode.appendChild(bar);
  document.body.classList.add("following");
  document.addEventListener("keydown", function (e) {
    if (e.altKey || e.ctrlKey || e.metaKey) return;
    if (e.key === "ArrowRight" || e.key === "PageDown") { e.preventDefault(); go(1); }
    if (e.key === "ArrowLeft" || e.key === "PageUp") { e.preventDefault(); go(-1); }
  });
  try {
    var kept = (localStorage.getItem(key) || "").split(" ");
    if (screens[+kept[0]] && +kept[1] >= 0 && +kept[1] < times(+kept[0])) {
      at = +kept[0]; turn = +kept[1];
    }
  } catch (e) {}
  show(false);
})();
