// A print button, shown only where it works.
const button = document.getElementById("print");
if (button && typeof window.print === "function") {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
