/** What is remembered from start to start, in one file: settings, and the studies that were open lately. */
import { mkdir, rename } from 'node:fs/promises';
import { join } from 'node:path';
import { z } from 'zod';
import { channels, type Response } from '../../core/contract/channels.ts';
import { HostFailure } from './failure.ts';
import { readTextFile, writeTextFile } from './studyFiles.ts';

const MOST_RECENT = 12;

const content = z.strictObject({
  format: z.literal(1),
  settings: channels['settings.read'].response,
  /** Paths, the latest first. */
  recent: z.array(z.string().min(1)).max(MOST_RECENT),
});
type Content = z.infer<typeof content>;

const NOTHING: Content = { format: 1, settings: { sheet: 'paper' }, recent: [] };

export class Remembered {
  private readonly path: string;
  /** Changes wait for one another. */
  private last: Promise<unknown> = Promise.resolve();

  /** `warn` is told one sentence when the file was unreadable and has been put aside. */
  constructor(
    private readonly folder: string,
    private readonly warn: (sentence: string) => void,
  ) {
    this.path = join(folder, 'remembered.json');
  }

  async settings(): Promise<Response<'settings.read'>> {
    return (await this.read()).settings;
  }

  async setSettings(settings: Response<'settings.read'>): Promise<void> {
    await this.change((old) => ({ ...old, settings }));
  }

  /** Paths of studies, the latest first. */
  async recent(): Promise<readonly string[]> {
    return (await this.read()).recent;
  }

  async addRecent(path: string): Promise<void> {
    await this.change((old) => {
      const recent = [path, ...old.recent.filter((other) => other !== path)].slice(0, MOST_RECENT);
      return { ...old, recent };
    });
  }

  private async change(recipe: (old: Content) => Content): Promise<void> {
    const work = this.last.then(async () => {
      const old = await this.read();
      const next = recipe(old);
      if (JSON.stringify(next) === JSON.stringify(old)) return;
      await mkdir(this.folder, { recursive: true });
      await writeTextFile(this.path, `${JSON.stringify(next, null, 2)}\n`);
    });
    // A change that fails is told to whoever asked for it; the next one is made all the same.
    this.last = work.catch(() => undefined);
    await work;
  }

  private async read(): Promise<Content> {
    let text: string;
    try {
      text = await readTextFile(this.path);
    } catch (error) {
      if (error instanceof HostFailure && error.code === 'notFound') return NOTHING;
      throw error;
    }
    const parsed = parse(text);
    if (parsed !== undefined) return parsed;
    const aside = `${this.path}.unreadable`;
    await rename(this.path, aside);
    this.warn(`The settings could not be understood; they were put aside as ${aside} and start afresh.`);
    return NOTHING;
  }
}

function parse(text: string): Content | undefined {
  try {
    return content.safeParse(JSON.parse(text)).data;
  } catch {
    return undefined;
  }
}
