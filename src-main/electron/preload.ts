/**
 * The window's only way out, one function a channel. Built as one CommonJS file that needs nothing but Electron, since it
 * runs in the window's sandbox; so it names the channels itself, and the compiler sees that it names all of them.
 */
import { contextBridge, ipcRenderer } from 'electron';
import type { Channel } from '../../core/contract/channels.ts';

type Ask = (payload: unknown) => Promise<unknown>;

const api: Record<Channel, Ask> = {
  'app.info': (payload) => ipcRenderer.invoke('app.info', payload),
  'app.startStudy': (payload) => ipcRenderer.invoke('app.startStudy', payload),
  'demo.list': (payload) => ipcRenderer.invoke('demo.list', payload),
  'demo.read': (payload) => ipcRenderer.invoke('demo.read', payload),
  'file.choose': (payload) => ipcRenderer.invoke('file.choose', payload),
  'file.read': (payload) => ipcRenderer.invoke('file.read', payload),
  'file.write': (payload) => ipcRenderer.invoke('file.write', payload),
  'folder.list': (payload) => ipcRenderer.invoke('folder.list', payload),
  'folder.file': (payload) => ipcRenderer.invoke('folder.file', payload),
  'recent.list': (payload) => ipcRenderer.invoke('recent.list', payload),
  'settings.read': (payload) => ipcRenderer.invoke('settings.read', payload),
  'settings.write': (payload) => ipcRenderer.invoke('settings.write', payload),
  'evidence.data': (payload) => ipcRenderer.invoke('evidence.data', payload),
  'film.job': (payload) => ipcRenderer.invoke('film.job', payload),
  'film.report': (payload) => ipcRenderer.invoke('film.report', payload),
  'film.tools': (payload) => ipcRenderer.invoke('film.tools', payload),
  'film.open': (payload) => ipcRenderer.invoke('film.open', payload),
  'film.keep': (payload) => ipcRenderer.invoke('film.keep', payload),
  'film.kept': (payload) => ipcRenderer.invoke('film.kept', payload),
  'film.write': (payload) => ipcRenderer.invoke('film.write', payload),
  'film.beside': (payload) => ipcRenderer.invoke('film.beside', payload),
  'film.close': (payload) => ipcRenderer.invoke('film.close', payload),
};

contextBridge.exposeInMainWorld('plumeline', api);
