/* The host says whether the work is to end. Asked between blocks. */
#ifdef __cplusplus
extern "C"
#endif
__attribute__((import_module("kitwright"), import_name("stopped"))) int stopped(void);
