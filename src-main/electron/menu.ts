import { Menu, type MenuItemConstructorOptions } from 'electron';

/**
 * What the system expects of a menu: its own entries and the editing of typed fields. All else is in the window, which
 * has the keys for it; undo and redo too, since they are the study's there.
 */
export function setMenu(platform: NodeJS.Platform): void {
  const template: MenuItemConstructorOptions[] = [
    platform === 'darwin' ? { role: 'appMenu' } : { label: 'Plumeline', submenu: [{ role: 'quit' }] },
    {
      label: 'Edit',
      submenu: [{ role: 'cut' }, { role: 'copy' }, { role: 'paste' }, { role: 'selectAll' }],
    },
    {
      label: 'View',
      submenu: [{ role: 'resetZoom' }, { role: 'zoomIn' }, { role: 'zoomOut' }, { role: 'togglefullscreen' }],
    },
  ];
  if (platform === 'darwin') template.push({ role: 'windowMenu' });
  Menu.setApplicationMenu(Menu.buildFromTemplate(template));
}
