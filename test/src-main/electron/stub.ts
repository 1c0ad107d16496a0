/** Electron's parts that the program uses, within one process: messages between window and main, and a record of settings. */
import { EventEmitter } from 'node:events';

type Handler = (event: unknown, payload: unknown) => unknown;
type Listener = (...args: never[]) => unknown;

const handlers = new Map<string, Handler>();
/** What the preload has put on the window. */
export const exposed: Record<string, Record<string, (payload: unknown) => Promise<unknown>>> = {};

const mainFrame = { url: 'plumeline://app/' };
/** From which frame the next message comes; the page itself if left alone. */
export const sender = { senderFrame: mainFrame as { url: string } | null, sender: { mainFrame } };

export function handledChannels(): string[] {
  return [...handlers.keys()];
}

/** A new start: no handlers, the page itself speaking. */
export function restart(): void {
  handlers.clear();
  mainFrame.url = 'plumeline://app/';
  sender.senderFrame = mainFrame;
}

export const ipcMain = {
  handle(channel: string, handler: Handler): void {
    if (handlers.has(channel)) throw new Error(`Attempted to register a second handler for '${channel}'`);
    handlers.set(channel, handler);
  },
};

export const ipcRenderer = {
  async invoke(channel: string, payload: unknown): Promise<unknown> {
    const handler = handlers.get(channel);
    if (handler === undefined) throw new Error(`No handler registered for '${channel}'`);
    // What crosses is copied, both ways.
    return structuredClone(await handler(sender, structuredClone(payload)));
  },
};

export const contextBridge = {
  exposeInMainWorld(name: string, api: (typeof exposed)[string]): void {
    exposed[name] = api;
  },
};

/** What dialogs answer, and what they were asked. */
export const dialogs = {
  asked: [] as unknown[],
  open: { canceled: true, filePaths: [] as string[] },
  save: { canceled: true, filePath: '' },
  button: 1,
};
export const dialog = {
  async showOpenDialog(_window: unknown, options: unknown) {
    dialogs.asked.push(options);
    return dialogs.open;
  },
  async showSaveDialog(_window: unknown, options: unknown) {
    dialogs.asked.push(options);
    return dialogs.save;
  },
  async showMessageBox(_window: unknown, options: unknown) {
    dialogs.asked.push(options);
    return { response: dialogs.button };
  },
  showMessageBoxSync(_window: unknown, options: unknown) {
    dialogs.asked.push(options);
    return dialogs.button;
  },
};

export const schemes: { scheme: string; privileges: Record<string, boolean> }[] = [];
export const pages = new Map<string, (request: Request) => Promise<Response>>();
export const protocol = {
  registerSchemesAsPrivileged: (list: typeof schemes): void => void schemes.push(...list),
  handle: (scheme: string, handler: (request: Request) => Promise<Response>): void =>
    void pages.set(scheme, handler),
};

/** What the session has been told: each rule by the name of its setter. */
export const rules: Record<string, Listener> = {};
const defaultSession = Object.assign(new EventEmitter(), {
  setPermissionRequestHandler: (rule: Listener): void => void (rules['request'] = rule),
  setPermissionCheckHandler: (rule: Listener): void => void (rules['check'] = rule),
  setDevicePermissionHandler: (rule: Listener): void => void (rules['device'] = rule),
  webRequest: { onBeforeRequest: (_filter: unknown, rule: Listener): void => void (rules['load'] = rule) },
});
export const session = { defaultSession };

class WebContents extends EventEmitter {
  openRule: Listener | undefined;
  setWindowOpenHandler(rule: Listener): void {
    this.openRule = rule;
  }
}

export class BrowserWindow extends EventEmitter {
  static readonly all: BrowserWindow[] = [];
  static getAllWindows(): BrowserWindow[] {
    return BrowserWindow.all;
  }
  readonly webContents = new WebContents();
  address = '';
  shown = false;
  constructor(readonly options: { webPreferences: Record<string, unknown>; show: boolean }) {
    super();
    BrowserWindow.all.push(this);
  }
  async loadURL(address: string): Promise<void> {
    this.address = address;
  }
  show(): void {
    this.shown = true;
  }
}

export const Menu = {
  template: [] as unknown,
  buildFromTemplate(template: unknown): unknown {
    return template;
  },
  setApplicationMenu(menu: unknown): void {
    Menu.template = menu;
  },
};

export const app = Object.assign(new EventEmitter(), {
  isPackaged: false,
  sandboxed: false,
  commandLine: { hasSwitch: (name: string): boolean => process.argv.includes(`--${name}`) },
  enableSandbox(): void {
    app.sandboxed = true;
  },
  whenReady: async (): Promise<void> => undefined,
  quit: (): void => undefined,
  exit: (code: number): void => {
    throw new Error(`exit ${code}`);
  },
});
