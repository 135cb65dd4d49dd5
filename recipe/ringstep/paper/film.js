// Without this the page is a list. Each picture, before and after a step, is one place on the reel.
(function () {
  var film = document.querySelector(".film"), shots = [];
  film.querySelectorAll(".scene").forEach(function (scene) {
    scene.querySelectorAll("div").forEach(function (shot) { shots.push([scene, shot]); });
  });
  if (!shots.length) return;
  var reel = document.createElement("div"), at = 0, timer = null;
  reel.className = "reel";
  function button(word, act) {
    var made = document.createElement("button");
    made.type = "button"; made.textContent = word;
    made.addEventListener("click", act); reel.appendChild(made);
    return made;
  }
  function show(place) {
    at = Math.max(0, Math.min(shots.length - 1, place));
    film.querySelectorAll(".now, .seen").forEach(function (old) { old.classList.remove("now", "seen"); });
    shots[at][0].classList.add("now"); shots[at][1].classList.add("seen");
    slide.value = at;
    slide.setAttribute("aria-valuetext", shots[at][0].querySelector("figcaption").textContent);
  }
  function stop() { clearInterval(timer); timer = null; play.textContent = "Play"; }
  function step(by) { stop(); show(at + by); }
  button("Back", function () { step(-1); });
  var play = button("Play", function () {
    if (timer) { stop(); return; }
    if (at === shots.length - 1) show(0);
    play.textContent = "Stop";
    timer = setInterval(function () { if (at === shots.length - 1) stop(); else show(at + 1); }, 1800);
  });
  button("Next", function () { step(1); });
  var slide = document.createElement("input");
  slide.type = "range"; slide.min = 0; slide.max = shots.length - 1;
  slide.setAttribute("aria-label", "place in the film");
  slide.addEventListener("input", function () { stop(); show(+slide.value); });
  reel.appendChild(slide);
  film.parentNode.insertBefore(reel, film);
  film.classList.add("playing");
  show(0);
})();
