// Says so when a photo did not get through. All else works by htmx, and without any script by the button beside it.
function failed(field) {
  field.value = ""; // so that choosing the same photo again is a change
  document.getElementById("take-failed").hidden = false;
}

for (const failure of ["htmx:sendError", "htmx:responseError", "htmx:timeout"]) {
  document.body.addEventListener(failure, (event) => {
    if (event.detail.requestConfig.elt.name === "picture") failed(event.detail.requestConfig.elt);
  });
}

// Another page came back, such as the one to sign in: what was typed must not give way to it.
document.body.addEventListener("htmx:beforeSwap", (event) => {
  const field = event.detail.requestConfig.elt;
  if (field.name !== "picture" || event.detail.xhr.responseText.includes('id="by-label"')) return;
  event.detail.shouldSwap = false;
  failed(field);
});

// A photo chosen before the scripts were there, on a slow line say, changes nothing any more: send it now.
document.body.addEventListener("htmx:load", (event) => {
  const field = event.target.querySelector("input[name=picture]");
  if (field?.files.length) htmx.trigger(field, "change");
});
