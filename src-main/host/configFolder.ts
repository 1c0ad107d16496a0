import { isAbsolute, join } from 'node:path';

/**
 * Where settings are kept: by the XDG Base Directory Specification on Linux and its kin, in Application Support on
 * macOS, in the roaming application data on Windows.
 */
export function configFolder(platform: NodeJS.Platform, env: NodeJS.ProcessEnv, home: string): string {
  if (platform === 'win32') return join(env['APPDATA'] ?? join(home, 'AppData', 'Roaming'), 'Plumeline');
  if (platform === 'darwin') return join(home, 'Library', 'Application Support', 'Plumeline');
  const base = env['XDG_CONFIG_HOME'] ?? '';
  // The specification: a path that is not absolute is to be ignored.
  return join(isAbsolute(base) ? base : join(home, '.config'), 'plumeline');
}
