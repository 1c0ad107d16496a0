/** How components are compiled, for the build and for whatever else reads them. */
export default { compilerOptions: { runes: true } };
