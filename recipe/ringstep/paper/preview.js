// In the hidden frame the page only says its stamp. Outside, another stamp means another page: the
// place on the page is kept, and nothing moves while words are marked or the page is out of sight.
(function () {
  var said = document.currentScript.dataset, stamp = said.stamp;
  var key = "ringstep " + location.pathname, frame = null;
  if (window.parent !== window) { window.parent.postMessage(stamp, "*"); return; }
  try { window.scrollTo(0, +sessionStorage.getItem(key) || 0); } catch (e) {}
  function drop() { if (frame) { frame.remove(); frame = null; } }
  window.addEventListener("message", function (told) {
    if (!frame || told.source !== frame.contentWindow || typeof told.data !== "string") return;
    drop();
    if (told.data === stamp || String(window.getSelection())) return;
    try { sessionStorage.setItem(key, String(window.scrollY)); } catch (e) {}
    location.reload();
  });
  setInterval(function () {
    if (document.hidden) return;
    drop();
    frame = document.createElement("iframe");
    frame.hidden = true;
    frame.title = "looks whether this page has changed";
    frame.src = location.href.split(/[?#]/)[0] + "?" + Date.now();
    document.body.appendChild(frame);
  }, +said.every);
})();
