// Pieces drawn onto the server's pictures, and the way from the pointer to their own coordinates.

const SPACE = "http://www.w3.org/2000/svg";

export function piece<K extends keyof SVGElementTagNameMap>(
  tag: K,
  attributes: Record<string, string | number>,
): SVGElementTagNameMap[K] {
  const made = document.createElementNS(SPACE, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, String(value));
  return made;
}

export function number(element: SVGElement, name: string): number {
  return Number(element.dataset[name] ?? "0");
}

export function isSeen(element: Element): boolean {
  return element.getClientRects().length > 0;
}

export function inside(svg: SVGSVGElement, event: PointerEvent): [number, number] {
  const box = svg.getBoundingClientRect();
  const view = svg.viewBox.baseVal;
  return [((event.clientX - box.left) / box.width) * view.width, ((event.clientY - box.top) / box.height) * view.height];
}
