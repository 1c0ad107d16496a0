import { basename, dirname, join } from 'node:path';
import { BrowserWindow, dialog } from 'electron';
import type { ChooseFile } from '../host/handlers.ts';
import { exists } from '../host/folders.ts';

type Parent = ReturnType<typeof BrowserWindow.getAllWindows>[number];

/** The system's own dialogs, over the window. */
export const chooseFile: ChooseFile = async ({ purpose, suggestedName, ending, folder }) => {
  const [parent] = BrowserWindow.getAllWindows();
  if (parent === undefined) return null;
  const filters = [
    { name: ending === 'plumeline.json' ? 'Study' : ending.toUpperCase(), extensions: [ending] },
  ];
  if (purpose === 'open') {
    const { canceled, filePaths } = await dialog.showOpenDialog(parent, {
      defaultPath: folder,
      filters,
      properties: ['openFile'],
    });
    return canceled ? null : (filePaths[0] ?? null);
  }
  const { canceled, filePath } = await dialog.showSaveDialog(parent, {
    defaultPath: join(folder, suggestedName),
    filters,
    properties: ['createDirectory', 'showOverwriteConfirmation'],
  });
  if (canceled || filePath === '') return null;
  const named = withEnding(filePath, ending);
  // The dialog has asked about the name as it was typed, not about the one with the ending.
  return named === filePath || (await mayReplace(parent, named)) ? named : null;
};

function withEnding(path: string, ending: string): string {
  if (path.endsWith(`.${ending}`)) return path;
  // Some systems' dialogs add the last part of a two-part ending alone.
  const last = ending.slice(ending.lastIndexOf('.'));
  const stem = last.startsWith('.') && path.endsWith(last) ? path.slice(0, -last.length) : path;
  return `${stem}.${ending}`;
}

async function mayReplace(parent: Parent, path: string): Promise<boolean> {
  if (!(await exists(path))) return true;
  const { response } = await dialog.showMessageBox(parent, {
    type: 'question',
    message: `“${basename(path)}” stands in ${dirname(path)} already. Replace it?`,
    buttons: ['Replace', 'Cancel'],
    defaultId: 1,
    cancelId: 1,
  });
  return response === 0;
}
