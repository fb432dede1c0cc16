// What the pages use of the editor's library, as one script: see vendor.sh.
export { EditorView, hoverTooltip } from "@codemirror/view";
export { EditorState } from "@codemirror/state";
export { basicSetup } from "codemirror";
export { autocompletion } from "@codemirror/autocomplete";
export { python } from "@codemirror/lang-python";
export { setDiagnostics } from "@codemirror/lint";
