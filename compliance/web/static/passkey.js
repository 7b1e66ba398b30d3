// Joins the button of a page to allauth's script, which speaks with the browser about passkeys.
(() => {
  const own = document.currentScript.dataset;
  if (!window.PublicKeyCredential) return; // an old browser, or a page without HTTPS: the button stays hidden
  document.getElementById("passkey-way").hidden = false;
  document.addEventListener("allauth.error", (event) => {
    event.preventDefault();
    document.getElementById("passkey-failed").hidden = false;
  });
  const ids = { add: "passkey-button", authenticate: "passkey-button", credential: own.field, data: "passkey-options" };
  window.allauth.webauthn.forms[own.act === "add" ? "addForm" : "authenticateForm"]({ ids });
})();
