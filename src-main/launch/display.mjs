/**
 * Whether windows can be shown to whoever started the program.
 *
 * @param {NodeJS.Platform} platform
 * @param {NodeJS.ProcessEnv} env
 * @returns {boolean}
 */
export function hasDisplay(platform, env) {
  if (platform === 'win32' || platform === 'darwin') return true;
  return (env.DISPLAY ?? '') !== '' || (env.WAYLAND_DISPLAY ?? '') !== '';
}
