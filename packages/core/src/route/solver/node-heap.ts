import type { SearchNode } from './node.js';

/** Open nodes, lowest bound first; of equal bounds the deeper one. */
export interface NodeHeap {
  readonly nodes: SearchNode[];
}

export function pushNode(heap: NodeHeap, node: SearchNode): void {
  const { nodes } = heap;
  let place = nodes.length;
  nodes.push(node);
  while (place > 0) {
    const above = (place - 1) >> 1;
    const parent = nodes[above] as SearchNode;
    if (!goesFirst(node, parent)) break;
    nodes[place] = parent;
    place = above;
  }
  nodes[place] = node;
}

export function popNode(heap: NodeHeap): SearchNode | undefined {
  const { nodes } = heap;
  const first = nodes[0];
  const last = nodes.pop();
  if (first === undefined || last === undefined || nodes.length === 0) return first;
  let place = 0;
  for (;;) {
    let below = 2 * place + 1;
    const left = nodes[below];
    if (left === undefined) break;
    const right = nodes[below + 1];
    let child = left;
    if (right !== undefined && goesFirst(right, left)) {
      child = right;
      below += 1;
    }
    if (!goesFirst(child, last)) break;
    nodes[place] = child;
    place = below;
  }
  nodes[place] = last;
  return first;
}

function goesFirst(a: SearchNode, b: SearchNode): boolean {
  return a.bound < b.bound || (a.bound === b.bound && a.depth > b.depth);
}
