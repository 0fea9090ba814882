// Writes to the server: with the page's token, and with refusals as words.

export interface Refusal {
  what: string;
  where: string | null;
  next: string | null;
}

export class Refused extends Error {
  constructor(readonly refusal: Refusal) {
    super(said(refusal));
  }
}

export function said(refusal: Refusal): string {
  const head = refusal.where ? `${refusal.where}: ${refusal.what}` : refusal.what;
  return refusal.next ? `${head} ${refusal.next}` : head;
}

export function token(): string {
  return document.querySelector<HTMLMetaElement>('meta[name="chalkwing-token"]')?.content ?? "";
}

export async function send<T>(method: "POST" | "DELETE", url: string, body?: unknown): Promise<T> {
  let response: Response;
  try {
    response = await fetch(url, {
      method,
      headers: { "content-type": "application/json", "x-chalkwing-token": token() },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
  } catch {
    throw new Refused({ what: "the server does not answer.", where: null, next: "Is it still running?" });
  }
  return answered<T>(response.status, await response.text());
}

export function answered<T>(status: number, text: string): T {
  let plain: { error?: Refusal } & Record<string, unknown> = {};
  try {
    plain = JSON.parse(text) as typeof plain;
  } catch {
    // Whatever stands between page and server answered in its own words.
  }
  if (status >= 400) {
    throw new Refused(plain.error ?? { what: `the server answered ${status}.`, where: null, next: null });
  }
  return plain as T;
}
