/** The one window, and what a page in it may not do. */
import { BrowserWindow, dialog, session, type Session } from 'electron';
import { PAGE_ORIGIN } from './pages.ts';

/** Nothing that asks for a permission, loads from elsewhere or saves by itself is part of this program. */
export function restrict(target: Session = session.defaultSession): void {
  target.setPermissionRequestHandler((_contents, _permission, answer) => answer(false));
  target.setPermissionCheckHandler(() => false);
  target.setDevicePermissionHandler(() => false);
  target.webRequest.onBeforeRequest(
    { urls: ['http://*/*', 'https://*/*', 'ws://*/*', 'wss://*/*'] },
    (_, answer) => answer({ cancel: true }),
  );
  target.on('will-download', (event) => event.preventDefault());
}

/** Opens the window over the built page. `preload` is the preload's file. */
export function openWindow(preload: string): BrowserWindow {
  const window = new BrowserWindow({
    width: 1440,
    height: 900,
    minWidth: 1024,
    minHeight: 640,
    show: false,
    autoHideMenuBar: true,
    title: 'Plumeline',
    webPreferences: {
      preload,
      sandbox: true,
      contextIsolation: true,
      nodeIntegration: false,
      webviewTag: false,
      spellcheck: false,
    },
  });
  window.once('ready-to-show', () => window.show());

  const { webContents } = window;
  webContents.setWindowOpenHandler(() => ({ action: 'deny' }));
  webContents.on('will-navigate', (event) => {
    // Loading the page anew is the one way to go.
    if (event.url !== `${PAGE_ORIGIN}/`) event.preventDefault();
  });
  webContents.on('will-frame-navigate', (event) => {
    if (!event.isMainFrame) event.preventDefault();
  });
  webContents.on('will-attach-webview', (event) => event.preventDefault());
  webContents.on('will-prevent-unload', (event) => {
    const choice = dialog.showMessageBoxSync(window, {
      type: 'question',
      message: 'The study has changes that are not saved. Close it all the same?',
      buttons: ['Close without saving', 'Stay'],
      defaultId: 1,
      cancelId: 1,
    });
    if (choice === 0) event.preventDefault();
  });

  void window.loadURL(`${PAGE_ORIGIN}/`);
  return window;
}
