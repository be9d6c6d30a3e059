// What a site holds for Python, as it comes over: an archive of modules, and the memory of a Python that has loaded them.
// Both are gzip, so a file that was damaged on its way is noticed. Used by the page's worker and by what makes the image.

const BLOCK = 512;
const letters = new TextDecoder();
const text = (bytes) => letters.decode(bytes).split("\0", 1)[0];

export async function unpacked(bytes) {
  return new Uint8Array(await new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer());
}

// An archive is a tar file: a block that names a file and its length, then its content, filled up to whole blocks.
export function* filesOf(tar) {
  for (let at = 0; at + BLOCK <= tar.length && tar[at];) {
    const head = tar.subarray(at, at + BLOCK);
    const [name, folder] = [text(head.subarray(0, 100)), text(head.subarray(345, 500))];
    const length = parseInt(text(head.subarray(124, 136)), 8);
    at += BLOCK;
    yield [folder ? `${folder}/${name}` : name, tar.subarray(at, at + length)];
    at += Math.ceil(length / BLOCK) * BLOCK;
  }
}

// Python's own unpacking would take half a second of a processor.
export function layOut(tar, files, folder) {
  const made = new Set();
  for (const [name, content] of filesOf(tar)) {
    const path = `${folder}/${name}`;
    const above = path.slice(0, path.lastIndexOf("/"));
    if (!made.has(above)) { files.mkdirTree(above); made.add(above); }
    files.writeFile(path, content);
  }
}

// The image, or null: without it, or with one of another version of the site, Python starts as it does anywhere.
export function imageIn(whole, version) {
  return version && text(whole.subarray(0, version.length)) === version ? whole.subarray(version.length) : null;
}

// What loads Pyodide from an image. Its memory begins smaller than the image may be, and grows by being asked for more.
export function fromImage(image, create) {
  const needed = image.length - new Uint32Array(image.buffer, image.byteOffset, 2)[1];
  return {
    _loadSnapshot: image,
    createPyodideModule: async (settings) => {
      const module = await create(settings);
      while (module.HEAP8.length < needed) if (!module._malloc(1 << 20)) throw new Error("there is no memory for the image");
      module.HEAP8.fill(0, needed);
      return module;
    },
  };
}
