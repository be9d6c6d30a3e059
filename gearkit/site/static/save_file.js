// Puts a text where the browser keeps what it downloads.

export function saveFile(name, text) {
  Object.assign(document.createElement("a"), {
    href: URL.createObjectURL(new Blob([text], { type: "application/octet-stream" })), download: name,
  }).click();
}
