// A sheet that a page hands over to the notebooks stands in the browser under this and the name of its file: { back, notebook }.

export const HANDED = "gearkit/cells ";
