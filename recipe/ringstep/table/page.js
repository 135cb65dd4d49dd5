// What the page does in the browser itself. All marks and changes carry the text they were made for,
// and come to nothing where something else was typed since.
window.table = (() => {
  const editor = (id) => getElement(id).editor;
  let begun = false;
  const still = (id, text) => editor(id) && editor(id).state.doc.toString() === text;
  const ask = async (about, context, at) => {
    const body = JSON.stringify({ text: context.state.doc.toString(), at });
    const headers = { "Content-Type": "application/json" };
    const answer = await fetch(`/ask/${about}`, { method: "POST", headers, body });
    return answer.ok ? answer.json() : null;
  };
  return {
    async begin(id) {
      if (begun) return;
      begun = true;
      await getElement(id).editorPromise;
      const CM = await import("nicegui-codemirror");
      let line = 0;
      const moved = CM.EditorView.updateListener.of((update) => {
        const now = update.state.doc.lineAt(update.state.selection.main.head).number;
        if (now !== line) emitEvent("cursor", (line = now));
      });
      const complete = (context) => ask("completions", context, context.pos);
      const hover = CM.hoverTooltip(async (view, pos) => {
        const told = await ask("hover", view, pos);
        if (!told) return null;
        const dom = Object.assign(document.createElement("div"), { className: "hover" });
        dom.textContent = told.words;
        return { pos: told.from, end: told.to, create: () => ({ dom }) };
      });
      const named = CM.EditorView.contentAttributes.of({
        "aria-label": "The recipe", spellcheck: "false", autocapitalize: "off", autocorrect: "off",
      });
      // A heading stands at the left, what belongs to it two blanks in.
      const heads = /^\s*[^#"]*:$/;
      const indents = CM.indentService.of((context, pos) => {
        const doc = context.state.doc;
        const own = doc.lineAt(pos);
        if (heads.test(own.text.slice(pos - own.from))) return 0;
        let before = own.number - (pos > own.from ? 0 : 1);
        while (before > 1 && !doc.line(before).text.trim()) before -= 1;
        const text = before ? doc.line(before).text : "";
        return heads.test(text) || /^\s*hint/.test(text) ? 2 : text.match(/^ */)[0].length;
      });
      const out = CM.EditorState.languageData.of(() => [{ indentOnInput: heads }]);
      const completions = CM.EditorState.languageData.of(() => [{ autocomplete: complete }]);
      editor(id).dispatch({
        effects: CM.StateEffect.appendConfig.of([moved, indents, out, completions, hover, named]),
      });
      // Enter ends a line, whatever is offered just then; Tab, or Enter after an arrow key, takes it.
      let chosen = false;
      const keys = (event) => {
        const offered = editor(id).dom.querySelector(".cm-tooltip-autocomplete li[aria-selected]");
        if (event.key === "Enter" && offered && !chosen) CM.insertNewlineAndIndent(editor(id));
        else if (event.key === "Tab" && offered)
          offered.dispatchEvent(new MouseEvent("mousedown", { bubbles: true, cancelable: true }));
        else return (chosen = event.key.startsWith("Arrow"));
        event.preventDefault();
        event.stopPropagation();
      };
      editor(id).dom.addEventListener("keydown", keys, true);
      window.socket.on("disconnect", () => getElement(id).setDisabled(true));
      window.socket.on("connect", () => getElement(id).setDisabled(false));
      editor(id).focus();
      emitEvent("cursor", 1);
    },
    mark(id, text, marks) {
      if (still(id, text)) getElement(id).setDecorations(marks);
    },
    change(id, text, changes) {
      if (!still(id, text)) return;
      editor(id).dispatch({ changes, scrollIntoView: true, userEvent: "input.mend" });
      editor(id).focus();
    },
    async again(id, which) {
      (await import("nicegui-codemirror"))[which](editor(id));
      editor(id).focus();
    },
    goTo(id, number, focus) {
      const state = editor(id).state;
      const line = state.doc.line(Math.max(1, Math.min(number, state.doc.lines)));
      editor(id).dispatch({ selection: { anchor: line.from }, scrollIntoView: true });
      if (focus) editor(id).focus();
    },
  };
})();
