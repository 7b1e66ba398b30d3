// Scan the bars of a package with the camera and send the form. Without a camera the button stays hidden.
// The button names the field that the number goes into: <button id="scan" data-into="id_gtin">.
const scan = document.getElementById("scan");
const field = document.getElementById(scan.dataset.into);
const view = document.getElementById("camera");
const says = document.getElementById("camera-says");
const readerAddress = document.getElementById("scan-script").dataset.reader;

let running = null;

async function hasCamera() {
  if (!navigator.mediaDevices?.getUserMedia) return false;
  const devices = await navigator.mediaDevices.enumerateDevices();
  return devices.some((device) => device.kind === "videoinput");
}

// The reader is large, so it is fetched when somebody first scans.
function loadReader() {
  if (window.ZXing) return Promise.resolve();
  return new Promise((resolve, reject) => {
    const script = document.createElement("script");
    script.src = readerAddress;
    script.addEventListener("load", resolve);
    script.addEventListener("error", () => reject(new Error("The scanner could not be loaded.")));
    document.head.append(script);
  });
}

function newReader() {
  const { BarcodeFormat, BrowserMultiFormatReader, DecodeHintType } = window.ZXing;
  const formats = [BarcodeFormat.EAN_13, BarcodeFormat.EAN_8, BarcodeFormat.UPC_A, BarcodeFormat.UPC_E, BarcodeFormat.ITF];
  return new BrowserMultiFormatReader(new Map([[DecodeHintType.POSSIBLE_FORMATS, formats]]), 200);
}

// A UPC-E symbol holds its number shortened; a GTIN is the long form.
function number(result) {
  const { BarcodeFormat, UPCEReader } = window.ZXing;
  const text = result.getText();
  return result.getBarcodeFormat() === BarcodeFormat.UPC_E ? UPCEReader.convertUPCEtoUPCA(text) : text;
}

function stop() {
  running?.reset();
  running = null;
  view.hidden = true;
  scan.textContent = "Scan the bars";
}

async function start() {
  scan.disabled = true;
  says.textContent = "Hold the bars before the camera.";
  scan.textContent = "Stop the camera";
  try {
    await loadReader();
    running = newReader();
    scan.disabled = false;
    view.hidden = false;
    const camera = { video: { facingMode: "environment" } };
    const result = await running.decodeOnceFromConstraints(camera, view.querySelector("video"));
    field.value = number(result);
    says.textContent = `Read: ${field.value}`;
    stop();
    field.form.requestSubmit();
  } catch (error) {
    const stopped = running === null && window.ZXing;
    scan.disabled = false;
    stop();
    says.textContent = stopped ? "" : `The camera cannot be used (${error.message || error.name}). Type the number instead.`;
  }
}

hasCamera().then((found) => {
  scan.hidden = !found;
  scan.addEventListener("click", () => (running ? (stop(), (says.textContent = "")) : start()));
});
